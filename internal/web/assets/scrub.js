// The scrubber: any second of a sheet or ride, on the strip, on the line and in words.
const data = JSON.parse(document.getElementById("timeline")?.textContent || "null");
const root = document.querySelector("[data-scrub]");
const readout = document.querySelector("[data-scrub-readout]");
const svgNS = "http://www.w3.org/2000/svg";

// at interpolates ys over rising xs, clamped to the ends.
function at(xs, ys, x) {
  const n = xs.length;
  if (!n) return NaN;
  if (x <= xs[0]) return ys[0];
  if (x >= xs[n - 1]) return ys[n - 1];
  let lo = 0, hi = n - 1;
  while (hi - lo > 1) { const mid = (lo + hi) >> 1; if (xs[mid] < x) lo = mid; else hi = mid; }
  const f = (x - xs[lo]) / (xs[hi] - xs[lo]);
  return ys[lo] + f * (ys[hi] - ys[lo]);
}
function nearest(xs, x) {
  let lo = 0, hi = xs.length - 1;
  while (hi - lo > 1) { const mid = (lo + hi) >> 1; if (xs[mid] < x) lo = mid; else hi = mid; }
  return x - xs[lo] < xs[hi] - x ? lo : hi;
}
// Beyond the first and last knot the clocks run alike.
function through(xs, ys, x) {
  const n = xs.length;
  if (!n) return x;
  if (x < xs[0]) return ys[0] + (x - xs[0]);
  if (x > xs[n - 1]) return ys[n - 1] + (x - xs[n - 1]);
  return at(xs, ys, x);
}
const toPlan = (t) => through(data.knots.ride, data.knots.plan, t);
const toRide = (t) => through(data.knots.plan, data.knots.ride, t);
const clock = (s) => { const n = Math.round(Math.max(s, 0)); return `${Math.floor(n / 60)}:${String(n % 60).padStart(2, "0")}`; };
const num = (v, d = 1) => v.toFixed(d);

class Scrubber {
  constructor() {
    this.first = data.ride ? Math.max(0, Math.min(...[data.knots.ride[0] ?? 0, data.ride.t[0]])) : Math.max(0, toRide(0));
    this.last = data.ride ? data.ride.t[data.ride.t.length - 1] : toRide(data.total);
    this.range = root.querySelector("[data-scrub-range]");
    this.range.min = String(Math.floor(this.first));
    this.range.max = String(Math.ceil(this.last));
    if (!data.ride) this.range.setAttribute("aria-label", "Second of the test");
    this.strips = [...document.querySelectorAll("[data-scrub-strip] svg")];
    this.cursors = this.strips.map((svg) => {
      const g = document.createElementNS(svgNS, "path");
      g.setAttribute("class", "cursor");
      svg.append(g);
      return g;
    });
    this.drawing = document.querySelector("[data-scrub-drawing] svg");
    if (this.drawing) this.prepareDrawing();
    root.hidden = readout.hidden = false;
    this.listen();
    const asked = Number(new URLSearchParams(location.hash.slice(1)).get("t"));
    this.go(asked > 0 ? asked : toRide(0), false);
  }

  prepareDrawing() {
    const d = this.drawing.dataset;
    const k = Number(d.k) / 100;
    this.place = (x, y) => [Number(d.ox) + (x + Number(d.w) / 2) * k, Number(d.oy) + (Number(d.l) - y) * k];
    this.dots = {};
    for (const name of data.ride ? ["stretch", "link", "doubt", "planned", "ridden"] : ["planned"]) {
      const el = document.createElementNS(svgNS, name === "link" || name === "stretch" ? "path" : "circle");
      el.setAttribute("class", `cursor-${name}`);
      if (name === "planned") el.setAttribute("r", "1.9");
      if (name === "ridden") el.setAttribute("r", "1.6");
      this.drawing.append(el);
      this.dots[name] = el;
    }
    this.metre = k;
    this.groups = [...this.drawing.querySelectorAll("g.plan > g.movement, g.signs > g.movement, g.tags > g.number")];
  }

  listen() {
    this.range.addEventListener("input", () => this.go(Number(this.range.value)));
    this.range.addEventListener("keydown", (e) => {
      const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[e.key];
      if (!step) return;
      e.preventDefault();
      this.go(this.t + step);
    });
    for (const b of root.querySelectorAll("[data-step]")) b.addEventListener("click", () => this.step(b.dataset.step === "+move" ? 1 : -1));
    for (const svg of this.strips) root.contains(svg) ? this.drag(svg) : svg.addEventListener("click", (e) => this.go(this.second(svg, e)));
    for (const b of document.querySelectorAll("[data-jump]")) b.addEventListener("click", () => {
      const s = parseFloat(b.dataset.jump);
      const t = b.dataset.clock === "ride" ? s : toRide(s);
      this.chosen = b.dataset.what ? { what: b.dataset.what, t } : null;
      this.go(t);
      this.show();
      this.range.focus({ preventScroll: true });
    });
    const back = readout.querySelector("[data-out-card]");
    back?.addEventListener("click", (e) => {
      const card = document.querySelector(back.getAttribute("href"));
      if (!card) return;
      e.preventDefault();
      card.scrollIntoView({ block: "start" });
      card.querySelector("button, a")?.focus({ preventScroll: true });
    });
    if (this.drawing) this.drawing.addEventListener("click", (e) => this.pick(e));
  }

  // show brings words, drawing and strip into sight: the whole of it where it fits, else the drawing.
  show() {
    const drawing = document.querySelector("[data-scrub-drawing]");
    if (!drawing) return;
    const top = Math.min(readout.getBoundingClientRect().top, drawing.getBoundingClientRect().top);
    const narrow = readout.getBoundingClientRect().bottom <= drawing.getBoundingClientRect().top + 1;
    if (narrow) scrollTo({ top: scrollY + top - 4 });
    else drawing.scrollIntoView({ block: "nearest" });
  }

  // second turns a place on a strip into a second of the ride.
  second(svg, e) {
    const { t0, t1, x0, x1 } = svg.dataset;
    const box = svg.getBoundingClientRect();
    const x = (e.clientX - box.left) / box.width * svg.viewBox.baseVal.width;
    const f = Math.min(1, Math.max(0, (x - Number(x0)) / (Number(x1) - Number(x0))));
    return toRide(Number(t0) + f * (Number(t1) - Number(t0)));
  }

  // drag makes a strip the handle of the clock.
  drag(svg) {
    const second = (e) => this.second(svg, e);
    svg.addEventListener("pointerdown", (e) => { svg.setPointerCapture(e.pointerId); this.go(second(e)); e.preventDefault(); });
    svg.addEventListener("pointermove", (e) => { if (svg.hasPointerCapture(e.pointerId)) this.go(second(e)); });
    svg.addEventListener("pointerup", () => this.range.focus({ preventScroll: true }));
  }

  // pick goes to the second at which the line is nearest to a click; where it passes twice, to
  // the next pass after the present second.
  pick(e) {
    const box = this.drawing.getBoundingClientRect();
    const k = this.drawing.viewBox.baseVal.width / box.width;
    const px = (e.clientX - box.left) * k, py = (e.clientY - box.top) * k;
    const src = data.ride || data.plan;
    let best = null;
    for (let i = 0; i < src.t.length; i++) {
      const [x, y] = this.place(src.x[i], src.y[i]);
      const d = Math.hypot(x - px, y - py);
      const t = data.ride ? src.t[i] : toRide(src.t[i]);
      const score = Math.max(d, 2.5) + (t > this.t + 1 ? 0 : 1);
      if (d < 6 && (!best || score < best.score - 1e-9)) best = { score, t };
    }
    if (best) this.go(best.t);
  }

  step(dir) {
    const starts = data.moves.map((m) => m.to > m.from ? m.from : toRide(m.start));
    const next = dir > 0 ? starts.find((s) => s > this.t + 0.3) : [...starts].reverse().find((s) => s < this.t - 0.6);
    if (next !== undefined) this.go(next);
  }

  // moveAt is the movement being ridden: by the ride's own spans where they were found, else by
  // the plan's clock.
  moveAt(plan) {
    if (data.moves.some((m) => m.to > m.from)) return [...data.moves].reverse().find((m) => m.to > m.from && this.t >= m.from - 0.06 && this.t <= m.to) || null;
    return data.moves.find((m) => plan >= m.start && plan < m.end) || (plan < 0.01 ? data.moves[0] : null);
  }

  go(t, tell = true) {
    this.t = Math.min(this.last, Math.max(this.first, t));
    const plan = toPlan(this.t);
    this.range.value = String(this.t);
    const move = this.moveAt(plan);
    this.showStrip(plan);
    if (this.drawing) this.showPlace(plan, move);
    this.showWords(plan, move);
    this.range.setAttribute("aria-valuetext", `${clock(this.t)}${move ? `, movement ${move.n}` : ""}`);
    if (tell) history.replaceState(null, "", `#t=${num(this.t)}`);
  }

  showStrip(plan) {
    this.strips.forEach((svg, i) => {
      const { t0, t1, x0, x1 } = svg.dataset;
      const f = Math.min(1, Math.max(0, (plan - Number(t0)) / (Number(t1) - Number(t0))));
      const x = Number(x0) + f * (Number(x1) - Number(x0));
      const h = svg.viewBox.baseVal.height;
      this.cursors[i].setAttribute("d", `M${x} 1.5V${h - 1}M${x - 2} 0h4l-2 3z`);
    });
  }

  showPlace(plan, move) {
    const [px, py] = this.place(at(data.plan.t, data.plan.x, plan), at(data.plan.t, data.plan.y, plan));
    const { planned, ridden, doubt, link, stretch } = this.dots;
    planned.setAttribute("cx", px); planned.setAttribute("cy", py);
    for (const g of this.groups) g.classList.toggle("now", !!move && g.dataset.movement === String(move.n));
    for (const c of document.querySelectorAll("[data-movement-card]")) c.classList.toggle("now", !!move && c.dataset.movementCard === String(move.n));
    if (!data.ride) return;
    const r = data.ride;
    if (this.lit !== move?.n) {
      this.lit = move?.n;
      stretch.setAttribute("d", this.stretchOf(move));
    }
    const [x, y] = this.place(at(r.t, r.x, this.t), at(r.t, r.y, this.t));
    ridden.setAttribute("cx", x); ridden.setAttribute("cy", y);
    doubt.setAttribute("cx", x); doubt.setAttribute("cy", y);
    doubt.setAttribute("r", String(Math.max(2, 2 * at(r.t, r.d, this.t) * this.metre)));
    link.setAttribute("d", `M${px} ${py}L${x} ${y}`);
  }

  // stretchOf is the line as ridden of one movement, broken where nothing was recorded.
  stretchOf(move) {
    if (!move || !(move.to > move.from)) return "";
    const r = data.ride;
    let d = "", pen = false;
    for (let i = 0; i < r.t.length; i++) {
      if (r.t[i] < move.from || r.t[i] > move.to || r.g[i]) { pen = false; continue; }
      const [x, y] = this.place(r.x[i], r.y[i]);
      d += `${pen ? "L" : "M"}${num(x, 2)} ${num(y, 2)}`;
      pen = true;
    }
    return d;
  }

  showWords(plan, move) {
    const out = (name, text) => { const el = readout.querySelector(`[data-out="${name}"]`); if (el && el.textContent !== text) el.textContent = text; };
    out("clock", clock(this.t));
    out("movement", move ? `movement ${move.n}${move.letters ? `, ${move.letters}` : ""}` : "outside the test");
    const back = readout.querySelector("[data-out-card]"), card = move && document.getElementById(`m${move.n}`);
    if (back) {
      back.hidden = !card;
      if (card) { back.href = `#m${move.n}`; back.setAttribute("aria-label", `its card: movement ${move.n}`); }
    }
    const pace = [...data.paces].reverse().find((p) => p.start <= plan + 1e-6)?.name;
    const due = data.asked.filter((a) => plan >= a.from && plan <= a.at).map((a) => `Prepare: ${a.words}.`);
    out("asked", move ? [move.text + ".", pace ? `In ${pace}.` : "", ...due].filter(Boolean).join(" ") : "");
    if (!readout.querySelector('[data-out="done"]')) return;
    out("done", this.done(plan, move));
    const said = data.said.filter((s) => (this.t >= s.at - 0.5 && this.t <= Math.max(s.end, s.at) + 2.5));
    const words = said.map((s) => `“${s.text}”${move && s.n !== move.n ? ` (about movement ${s.n})` : ""}`);
    if (move && data.marks[move.n]) words.push(`Mark ${data.marks[move.n]}.`);
    out("said", words.join(" ") || "nothing at this second");
  }

  // measuredHere are the measures of this place in words: the one whose number was clicked first; on
  // a phone no more than two, since the line must stay in sight under them.
  measuredHere(move) {
    if (!move) return [];
    const chosen = this.chosen && Math.abs(this.chosen.t - this.t) < 0.3 ? this.chosen.what : "";
    const near = data.done.filter((d) => d.n === move.n && (d.what === chosen || d.at < 0 || Math.abs(d.at - this.t) < 4));
    near.sort((a, b) => (b.what === chosen) - (a.what === chosen));
    const shown = matchMedia("(max-width: 46rem)").matches ? near.slice(0, chosen ? 1 : 2) : near;
    const words = shown.map((d) => d.words.charAt(0).toUpperCase() + d.words.slice(1) + ".");
    if (shown.length < near.length) words.push(`${near.length - shown.length} more on its card.`);
    return words;
  }

  done(plan, move) {
    const parts = [];
    const r = data.ride;
    if (r) {
      const i = nearest(r.t, this.t);
      if (r.g[i]) parts.push("Nothing was recorded here; the line is bridged.");
      else {
        const b = r.bt.length ? nearest(r.bt, this.t) : -1;
        const tempo = b >= 0 && Math.abs(r.bt[b] - this.t) < 1.3 ? `, ${num(r.b[b], 0)} strides a minute` : "";
        parts.push(`${num(r.v[i])} m/s${tempo}.`);
        const off = Math.hypot(r.x[i] - at(data.plan.t, data.plan.x, plan), r.y[i] - at(data.plan.t, data.plan.y, plan));
        parts.push(`${num(off)} m from where it was planned, give or take ${num(Math.max(r.d[i], 0.05), r.d[i] < 0.1 ? 2 : 1)}.`);
      }
    } else parts.push("No recording.");
    return parts.concat(this.measuredHere(move)).join(" ");
  }
}

if (data && root && readout && data.plan.t) window.ringcraftScrubber = new Scrubber();
