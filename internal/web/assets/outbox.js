// Sends what the phone keeps to the book: in order, once. The server knows each note by its id, so
// a batch whose answer was lost is sent again without harm. A note counts as "in the book" only
// when the server has said so, and it says so only when the note is on its disk.

const batch = 50;
const waits = [1000, 2000, 5000, 15000, 30000];

export class Outbox {
  constructor(phone, ride, changed) {
    Object.assign(this, { phone, ride, changed, tries: 0, state: "", timer: 0, going: false });
    addEventListener("online", () => this.now());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.now(); });
  }

  // now tries at once; it never throws.
  now() {
    clearTimeout(this.timer);
    this.tries = 0;
    return this.run();
  }

  async run() {
    if (this.going) { this.again = true; return; }
    this.going = true;
    try {
      do {
        this.again = false;
        await this.locked();
      } while (this.again);
      this.tries = 0;
    } catch (fault) {
      this.state = fault.say ?? "Book not reached.";
      const wait = waits[Math.min(this.tries++, waits.length - 1)];
      this.timer = setTimeout(() => this.run(), wait);
    } finally {
      this.going = false;
      this.changed();
    }
  }

  // locked lets one tab send at a time.
  locked() {
    if (!navigator.locks) return this.send();
    return navigator.locks.request("ringcraft-outbox-" + this.ride, () => this.send());
  }

  async send() {
    const consent = await this.phone.get("consent:" + this.ride);
    if (consent && !consent.sent) {
      await this.ask("consent", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(consent) });
      await this.phone.set("consent:" + this.ride, { ...consent, sent: true });
    }
    for (;;) {
      const notes = await this.phone.waiting("notes", this.ride, batch);
      if (!notes.length) break;
      await this.sendNotes(notes);
      this.changed();
    }
    for (;;) {
      const [piece] = await this.phone.waiting("sound", this.ride, 1);
      if (!piece) break;
      await this.sendPiece(piece);
      this.changed();
    }
    this.state = "";
  }

  async sendNotes(notes) {
    const plain = notes.map(({ state, why, ...note }) => note);
    const answer = await this.ask("notes", {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ notes: plain }),
    });
    await this.phone.settle(this.ride, answer.kept, "book");
    for (const r of answer.refused) await this.phone.settle(this.ride, [r.id], "refused", r.why);
    if (!answer.kept.length && !answer.refused.length) throw new Error("no note was answered for");
  }

  async sendPiece(piece) {
    try {
      await this.ask(`sound/${piece.seq}?at_s=${piece.at_s}`, { method: "PUT", headers: { "Content-Type": piece.media }, body: piece.bytes });
    } catch (fault) {
      if (fault.status !== 409) throw fault;
      await this.phone.moveSlot(this.ride);
      return;
    }
    await this.phone.pieceInBook(piece);
  }

  async ask(what, options) {
    const answer = await fetch(`/rides/${this.ride}/${what}`, { ...options, credentials: "same-origin", signal: AbortSignal.timeout(15000) });
    if (answer.ok) return answer.json();
    const fault = new Error("status " + answer.status);
    fault.status = answer.status;
    fault.say = {
      401: "This phone is not let in (any more). Pair it again; notes stay on this phone.",
      403: "The book does not take notes of this ride now. Notes stay on this phone; the trainer can open the ride again.",
      404: "This book does not know this ride. Take the notes out as a file.",
      503: "The book cannot write now (disk full or busy). Notes stay on this phone.",
    }[answer.status];
    throw fault;
  }
}
