// The scrubber: any second of a sheet or ride, on the strip, on the line and in words.
import { clockWords } from "./clock.js";
import { Origin, at } from "./origin.js";

const data = JSON.parse(document.getElementById("timeline")?.textContent || "null");
const root = document.querySelector("[data-scrub]");
const readout = document.querySelector("[data-scrub-readout]");
const svgNS = "http://www.w3.org/2000/svg";

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
// The plan's second at a second of the ride: by the knots, but never at another place than the one where
// the ride was: a rider who goes back to try again is asked the same again, one who stands is asked to stand.
function toPlan(t) {
  const s = through(data.knots.ride, data.knots.plan, t), r = data.ride;
  if (!r) return s;
  const i = nearest(r.t, t), p = data.plan;
  if (r.m[i] < 0 || Math.abs(r.t[i] - t) > 1) return s;
  const from = at(p.m, p.t, r.m[i] - 0.3), to = at(p.m, p.t, r.m[i] + 0.3);
  return Math.min(Math.max(s, from), to);
}
const toRide = (t) => through(data.knots.plan, data.knots.ride, t);
const num = (v, d = 1) => v.toFixed(d);

const sentence = (words) => words.charAt(0).toUpperCase() + words.slice(1) + ".";

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
    this.go(asked > 0 ? asked : data.moves.find((m) => m.to > m.from)?.from ?? toRide(0), false);
  }

  prepareDrawing() {
    const d = this.drawing.dataset;
    const k = Number(d.k) / 100;
    this.place = (x, y) => [Number(d.ox) + (x + Number(d.w) / 2) * k, Number(d.oy) + (Number(d.l) - y) * k];
    this.dots = {};
    for (const name of data.ride ? ["stretch", "link", "doubt", "planned", "ridden"] : ["planned"]) {
      const el = this.dots[name] = document.createElementNS(svgNS, name === "link" || name === "stretch" ? "path" : "circle");
      el.setAttribute("class", `cursor-${name}`);
      this.drawing.append(el);
      if (name === "planned") el.setAttribute("r", "1.9");
      if (name === "ridden") el.setAttribute("r", "1.6");
    }
    this.metre = k;
    this.origin = new Origin(this.drawing, data, this.place, k);
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
      if (b.classList.contains("number")) this.light(b);
      else this.go(this.secondOf(b));
      this.show();
      if (!b.classList.contains("number")) this.range.focus({ preventScroll: true });
    });
    for (const b of document.querySelectorAll("button.number")) b.addEventListener("focus", () => this.light(b));
    document.querySelector("[data-whole]")?.addEventListener("click", () => this.go(this.t));
    const back = readout.querySelector("[data-out-card]");
    back?.addEventListener("click", (e) => {
      const number = this.chosen?.button, card = document.querySelector(back.getAttribute("href"));
      if (!card) return;
      e.preventDefault();
      (number || card).scrollIntoView({ block: number ? "center" : "start" });
      (number || card.querySelector("button, a"))?.focus({ preventScroll: true });
    });
    if (this.drawing) this.drawing.addEventListener("click", (e) => this.pick(e));
  }

  secondOf(b) {
    const s = parseFloat(b.dataset.jump);
    return b.dataset.clock === "ride" ? s : toRide(s);
  }

  // light shows where a number comes from, without moving the page.
  light(b) {
    const m = data.done.find((d) => d.n === Number(b.dataset.n) && d.what === b.dataset.what);
    if (m) this.go(this.secondOf(b), true, { ...m, button: b });
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

  // second turns a place on a strip into a second of the ride; a strip says whose clock it is on.
  second(svg, e) {
    const { t0, t1, x0, x1, clock } = svg.dataset;
    const { x } = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const f = Math.min(1, Math.max(0, (x - Number(x0)) / (Number(x1) - Number(x0))));
    const s = Number(t0) + f * (Number(t1) - Number(t0));
    return clock === "ride" ? s : toRide(s);
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
    const { x: px, y: py } = new DOMPoint(e.clientX, e.clientY).matrixTransform(this.drawing.getScreenCTM().inverse());
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

  // go shows a second; with a number chosen, also the place that it comes from.
  go(t, tell = true, chosen = null) {
    this.chosen?.button.removeAttribute("aria-current");
    this.chosen = chosen;
    chosen?.button.setAttribute("aria-current", "true");
    this.t = Math.min(this.last, Math.max(this.first, t));
    const plan = toPlan(this.t);
    this.range.value = String(this.t);
    const move = this.moveAt(plan);
    this.showStrip(plan);
    if (this.drawing) this.showPlace(plan, move);
    if (this.drawing) this.origin.show(chosen);
    this.showWords(plan, move);
    this.range.setAttribute("aria-valuetext", `${clockWords(this.t)}${move ? `, movement ${move.n}` : ""}${chosen ? `, ${chosen.what} ${chosen.short}, ${chosen.where}` : ""}`);
    if (tell) history.replaceState(null, "", `#t=${num(this.t)}`);
  }

  showStrip(plan) {
    this.strips.forEach((svg, i) => {
      const { t0, t1, x0, x1, clock } = svg.dataset;
      const s = clock === "ride" ? this.t : plan;
      const f = Math.min(1, Math.max(0, (s - Number(t0)) / (Number(t1) - Number(t0))));
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

  // stretchOf is the line as ridden of one movement.
  stretchOf(move) {
    return move && move.to > move.from ? this.origin.path(this.origin.riddenOver(move.from, move.to)) : "";
  }

  showWords(plan, move) {
    const out = (name, text) => { const el = readout.querySelector(`[data-out="${name}"]`); if (el && el.textContent !== text) el.textContent = text; };
    out("clock", clockWords(this.t));
    out("movement", move ? `movement ${move.n}${move.letters ? `, ${move.letters}` : ""}` : "outside the test");
    const back = readout.querySelector("[data-out-card]"), n = this.chosen?.n ?? move?.n, card = n && document.getElementById(`m${n}`);
    if (back) {
      back.hidden = !card;
      if (card) { back.href = `#m${n}`; back.setAttribute("aria-label", `its card: movement ${n}`); }
    }
    out("shown", this.chosen ? `${sentence(this.chosen.words)} ${sentence(this.chosen.where || "no place")} Shown on the line.` : "");
    const pace = [...data.paces].reverse().find((p) => p.start <= plan + 1e-6)?.name;
    const due = data.asked.filter((a) => plan >= a.from && plan <= a.at).map((a) => `Prepare: ${a.words}.`);
    out("asked", move ? [move.text + ".", pace ? `In ${pace}.` : "", ...due].filter(Boolean).join(" ") : "nothing: outside the test");
    if (!readout.querySelector('[data-out="done"]')) return;
    out("done", this.done(plan, move));
    const said = data.said.filter((s) => (this.t >= s.at - 0.5 && this.t <= Math.max(s.end, s.at) + 2.5));
    const words = said.map((s) => `“${s.text}”${move && s.n !== move.n ? ` (about movement ${s.n})` : ""}`);
    if (move && data.marks[move.n]) words.push(`Mark ${data.marks[move.n]}.`);
    out("said", words.join(" ") || "nothing at this second");
  }

  // measuredHere are the measures of this place in words; no more than two, since the line must stay in
  // sight beside them.
  measuredHere(move) {
    if (!move) return [];
    const near = data.done.filter((d) => d.n === move.n && (d.at < 0 || Math.abs(d.at - this.t) < 4));
    const words = near.slice(0, 2).map((d) => sentence(d.words));
    if (near.length > 2) words.push(`${near.length - 2} more on its card.`);
    return words;
  }

  done(plan, move) {
    if (this.chosen) return sentence(this.chosen.words) + (this.chosen.where ? " " + sentence(this.chosen.where) : "");
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
