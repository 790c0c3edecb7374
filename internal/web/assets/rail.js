// The arena side: marks, faults and taps for one gloved hand, kept on the phone at once and sent
// to the book when it can be reached. What is shown follows from the kept notes alone, so that a
// page that was killed comes back as it was.
import { Phone, standing } from "./phone.js";
import { Outbox } from "./outbox.js";
import { RideClock, Follower, clockWords } from "./clock.js";
import { Recorder, Awake } from "./record.js";
import { el, frame, faultKeys } from "./railview.js";

const place = document.getElementById("rail");
const rideId = decodeURIComponent(location.pathname.match(/^\/rides\/([^/]+)\/rail$/)?.[1] ?? "");
const holdMs = 3000; // after a tap the movement shown stays for this long

class Rail {
  constructor(phone, data) {
    Object.assign(this, { phone, data, notes: [], at: 0, steered: false, tapped: 0, open: false, last: Promise.resolve() });
    this.marked = [...data.movements, ...data.collectives.map((c) => ({ collective: c.name, coefficient: c.coefficient, text: "", letters: c.name, prone: [] }))];
    this.follower = new Follower(data.movements);
  }

  async begin() {
    this.clock = new RideClock(await this.phone.get("clock:" + this.data.ride_id));
    this.notes = await this.phone.notes(this.data.ride_id);
    this.outbox = new Outbox(this.phone, this.data.ride_id, () => this.counts());
    this.recorder = new Recorder(this.phone, this.data.ride_id, this.clock, (words) => { this.say(words); this.paint(); this.outbox.run(); });
    this.awake = new Awake();
    this.view = frame(this.actions());
    place.replaceChildren(...this.view.page);
    place.removeAttribute("aria-busy");
    this.extras();
    this.derive();
    this.at = this.clock.running ? this.follower.indexAt(this.clock.now()) : Math.max(0, this.follower.taps.at(-1)?.index ?? 0);
    if (this.clock.doubt) this.say("This phone's clock was changed. Tap the movement being ridden now.");
    this.awake.keep(this.clock.running);
    setInterval(() => this.tick(), 250);
    setInterval(() => this.saveClock(), 1000);
    document.addEventListener("visibilitychange", () => { if (document.hidden) { this.recorder.flush(); this.saveClock(); } });
    this.paint();
    await this.counts();
    this.outbox.now();
  }

  // turn lets one tap be kept before the next is looked at: ½ belongs to the mark just tapped.
  turn(f) {
    this.last = this.last.then(f).catch((fault) => this.say(fault.message));
    return this.last;
  }

  actions() {
    return {
      start: () => this.turn(() => this.start()), record: () => this.record(),
      mark: (m) => this.turn(() => this.mark(m)), half: () => this.turn(() => this.half()),
      step: (by) => this.turn(() => this.step(by)), now: () => this.turn(() => this.now()), undo: () => this.turn(() => this.undo()),
      error: () => this.turn(() => this.keep({ kind: "error" })), later: () => this.turn(() => this.keep({ ...this.box(), kind: "later" })),
      remark: (input) => this.turn(() => this.remark(input)),
    };
  }

  // keep writes a note to the phone; only then it is shown. When the phone refuses, it is said.
  async keep(fields) {
    this.tapped = performance.now();
    const at_s = Math.max(0, Math.round((fields.at_s ?? this.clock.now()) * 1000) / 1000);
    try {
      const note = await this.phone.keepNote(this.data.ride_id, { ...fields, at_s });
      this.notes.push(note);
      this.derive();
      this.paint();
      await this.counts();
      this.outbox.run();
      navigator.vibrate?.(20);
      return note;
    } catch (fault) {
      this.say("Not kept: this phone's storage refuses (" + fault.name + "). Write it on paper.");
      return null;
    }
  }

  derive() {
    this.stands = standing(this.notes);
    this.follower.setTaps(this.stands);
  }

  box(index = this.at) {
    const m = this.marked[index];
    return m.collective ? { collective: m.collective } : { movement: m.number };
  }

  ofBox(kind, index = this.at) {
    const b = this.box(index);
    return this.stands.filter((n) => n.kind === kind && (b.collective ? n.collective === b.collective : n.movement === b.movement && !n.collective));
  }

  markOf(index) { return this.ofBox("mark", index).at(-1)?.mark; }

  mark(m) { return this.keep({ ...this.box(), kind: "mark", mark: m + ".0" }); }

  half() {
    const given = this.markOf(this.at);
    if (given === undefined) return this.say("First the whole mark, then ½.");
    const whole = Math.floor(Number(given));
    if (whole === 10) return this.say("10 is the highest mark.");
    return this.keep({ ...this.box(), kind: "mark", mark: whole + (given.endsWith(".5") ? ".0" : ".5") });
  }

  fault(id) {
    const given = this.ofBox("fault").findLast((n) => n.text === id);
    if (given) return this.keep({ kind: "undo", undoes: given.id });
    return this.keep({ ...this.box(), kind: "fault", text: id });
  }

  async remark(input) {
    const words = input.value.trim();
    if (words && await this.keep({ ...this.box(), kind: "remark", text: words })) input.value = "";
  }

  // now says that the next movement begins: the clock re-times itself by it.
  async now() {
    if (!this.clock.running) return this.start();
    const next = Math.min(this.at + 1, this.marked.length - 1);
    if (!this.marked[next].collective) await this.keep({ ...this.box(next), kind: "now" });
    this.at = next;
    this.steered = !!this.marked[next].collective;
    this.tapped = performance.now();
    this.paint();
  }

  async start() {
    if (this.clock.running) return;
    this.clock.start();
    await this.saveClock();
    this.awake.keep(true);
    if (this.clock.now() < 1) await this.keep({ ...this.box(0), kind: "now", at_s: 0 });
    this.steered = false;
    this.paint();
  }

  step(by) {
    this.at = Math.min(this.marked.length - 1, Math.max(0, this.at + by));
    this.steered = true;
    this.open = false;
    this.paint();
  }

  // undo takes back the last thing done on this phone that still stands.
  undo() {
    const last = this.stands.reduce((a, n) => (!a || n.seq > a.seq ? n : a), null);
    if (!last) return this.say("Nothing to take back.");
    this.say("Taken back: " + [last.kind, last.mark, last.text, last.movement && "movement " + last.movement].filter(Boolean).join(", "));
    return this.keep({ kind: "undo", undoes: last.id });
  }

  async record() {
    if (this.recorder.on) { await this.recorder.stop(); this.paint(); return; }
    if (!this.data.voice && !(await this.phone.get("consent:" + this.data.ride_id)) && !(await this.askConsent())) return;
    try {
      await this.start();
      await this.recorder.start();
    } catch (fault) {
      this.say("No recording: " + (fault.name === "NotAllowedError" ? "the browser was not allowed to use the microphone." : fault.message));
    }
    this.paint();
  }

  // askConsent asks once, in words, and notes who agreed.
  askConsent() {
    return new Promise((answer) => {
      const who = el("input", { required: true, maxlength: "120", "aria-label": "name of who agreed", placeholder: "name" });
      const box = el("dialog", { class: "consent" },
        el("form", { on: { submit: async (e) => {
          e.preventDefault();
          await this.phone.set("consent:" + this.data.ride_id, { id: crypto.randomUUID(), given_by: who.value.trim(), guardian: this.data.minor, sent: false });
          box.close(); box.remove(); answer(true); this.outbox.now();
        } } },
        el("h2", {}, "May sound be recorded?"),
        el("p", {}, this.data.minor ? `${this.data.rider} is a minor. A guardian must agree.` : `${this.data.rider} must agree.`),
        el("p", {}, "It is kept beside the ride until it is removed; agreement can be withdrawn at any time, and the sound goes with it."),
        el("label", {}, this.data.minor ? "Guardian who agreed" : "Who agreed", who),
        el("p", { class: "row" }, el("button", {}, "Agreed"), el("button", { type: "button", class: "quiet", on: { click: () => { box.close(); box.remove(); answer(false); } } }, "No"))));
      document.body.append(box);
      box.showModal();
    });
  }

  say(words) {
    this.view.trouble.textContent = words;
    this.view.trouble.hidden = !words;
  }

  // counts shows the two states a note can be in, in words.
  async counts() {
    const id = this.data.ride_id;
    const [here, book, odd, sound] = await Promise.all([this.phone.count("notes", id, "phone"), this.phone.count("notes", id, "book"),
      this.phone.count("notes", id, "refused"), this.phone.count("sound", id, "phone")]);
    const words = [`${here} kept on this phone`, `${book} in the book`];
    if (sound) words.push(`${sound} pieces of sound kept on this phone`);
    if (odd) words.push(`${odd} not taken by the book: take the notes out as a file`);
    this.view.state.textContent = words.join(" · ") + (this.outbox.state && here + sound ? ". " + this.outbox.state : "");
    this.view.state.dataset.here = here;
    this.view.state.dataset.book = book;
    this.view.state.dataset.sound = sound;
  }

  saveClock() { return this.phone.set("clock:" + this.data.ride_id, this.clock.saved()); }

  tick() {
    const s = this.clock.now();
    this.view.clock.textContent = clockWords(s);
    if (!this.clock.running || this.steered || performance.now() - this.tapped < holdMs) return;
    const index = this.follower.indexAt(s);
    if (index !== this.at) { this.at = index; this.open = false; this.paint(); }
  }

  paint() {
    const v = this.view, m = this.marked[this.at], next = this.marked[this.at + 1];
    v.start.hidden = this.clock.running;
    v.record.textContent = this.recorder.on ? "Recording" : "Record";
    v.record.setAttribute("aria-pressed", String(this.recorder.on));
    v.number.textContent = m.collective ? "" : m.number;
    v.letters.textContent = m.letters;
    v.coefficient.textContent = m.coefficient > 1 ? "×" + m.coefficient : "";
    v.text.textContent = m.text;
    const mark = this.markOf(this.at);
    for (const b of v.pad.querySelectorAll("[data-mark]")) b.setAttribute("aria-pressed", String(mark !== undefined && Math.floor(Number(mark)) === Number(b.dataset.mark)));
    v.half.setAttribute("aria-pressed", String(!!mark?.endsWith(".5")));
    const faults = this.ofBox("fault").map((n) => n.text);
    v.given.textContent = [mark === undefined ? "no mark yet" : "mark " + mark, ...faults].join(" · ");
    faultKeys(v, m.prone, m.collective ? [] : this.data.faults, this.open, new Set(faults), (id) => this.turn(() => this.fault(id)), () => { this.open = !this.open; this.paint(); });
    v.next.textContent = next ? `then ${next.number ?? ""} ${next.letters} ${next.text}` : "last box of the sheet";
    v.now.textContent = !this.clock.running ? "Start: at A, 1 begins" : next ? (next.collective ? `Go on: ${next.collective}` : `Now: ${next.number} begins`) : "End of the sheet";
    v.now.disabled = this.clock.running && !next;
    const errors = this.stands.filter((n) => n.kind === "error").length;
    v.error.textContent = errors ? `Error of course (${errors})` : "Error of course";
    this.paintMissing();
  }

  // paintMissing lists boxes that went by without a mark; a tap goes back to one.
  paintMissing() {
    const gone = this.marked.map((m, i) => i).filter((i) => i < this.at && this.markOf(i) === undefined).slice(-6);
    this.view.missing.replaceChildren(...(gone.length ? ["no mark: ", ...gone.map((i) =>
      el("button", { type: "button", class: "quiet", on: { click: () => this.step(i - this.at) } }, String(this.marked[i].number ?? this.marked[i].letters)))] : []));
    if (this.steered && this.clock.running) {
      this.view.missing.append(el("button", { type: "button", class: "quiet", on: { click: () => { this.steered = false; this.tapped = 0; this.tick(); this.paint(); } } }, "follow the clock"));
    }
  }

  extras() {
    const b = (words, f) => el("button", { type: "button", class: "quiet", on: { click: f } }, words);
    this.view.more.append(
      el("p", {}, `${this.data.title} · ${this.data.sheet} · ${this.data.date}`),
      b("Notes as a file", () => this.file()),
      b("Stop the clock", async () => { await this.recorder.stop(); this.clock.stop(); await this.saveClock(); this.awake.keep(false); this.paint(); }),
      b("Send now", () => this.outbox.now()),
      el("p", {}, el("a", { href: "/rail" }, "Other rides on this phone")));
  }

  // file writes all notes of the ride to a file, for a book that cannot be reached from here.
  async file() {
    const notes = (await this.phone.notes(this.data.ride_id)).map(({ state, why, ...n }) => n);
    const text = JSON.stringify({ format: "ringcraft notes", ride: this.data.title, sheet: this.data.sheet, date: this.data.date, notes }, null, 1);
    const link = el("a", { href: URL.createObjectURL(new Blob([text], { type: "application/json" })), download: `notes-${this.data.date}.json` });
    document.body.append(link);
    link.click();
    link.remove();
  }
}

// bring fetches the ride from the book; when that fails, from the phone.
async function bring(phone) {
  try {
    const answer = await fetch(`/rides/${encodeURIComponent(rideId)}/rail.json`, { credentials: "same-origin", signal: AbortSignal.timeout(4000) });
    if (answer.ok) {
      const data = await answer.json();
      await phone.keepRide(data);
      return data;
    }
  } catch { /* no way to the book: what the phone keeps must do */ }
  return phone.ride(rideId);
}

function list(rides) {
  place.removeAttribute("aria-busy");
  place.replaceChildren(el("h1", {}, "Rides on this phone"),
    rides.length ? el("ul", { class: "list" }, ...rides.map((r) => el("li", {}, el("a", { href: `/rides/${encodeURIComponent(r.ride_id)}/rail` }, el("b", {}, r.title), " ", r.sheet, " ", r.date))))
      : el("p", { class: "lead" }, "None yet. Open a ride's rail page once while the book can be reached; from then on it works without."));
}

async function main() {
  navigator.serviceWorker?.register("/sw.js").catch(() => {});
  const phone = await Phone.open();
  navigator.storage?.persist?.().then((kept) => { document.body.dataset.persisted = String(kept); });
  if (!rideId) return list(await phone.rides());
  const data = await bring(phone);
  if (!data) {
    place.replaceChildren(el("p", { class: "lead" }, "This ride is not on this phone, and the book cannot be reached (or does not let this phone in)."),
      el("p", {}, el("a", { class: "button", href: "/rail" }, "Rides on this phone")), el("p", {}, el("a", { href: "/sign-in" }, "Sign in")));
    return;
  }
  const rail = new Rail(phone, data);
  await rail.begin();
}

main().catch((fault) => {
  place.replaceChildren(el("p", { class: "lead" }, "This phone cannot keep notes: " + fault.message + ". Use paper, or a browser that may store data."));
});
