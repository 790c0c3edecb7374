// Origin shows on the drawing of a ride where a number comes from: the stretch of the ridden line, or the
// one place, that it is made of, beside what the plan asks there.
const svgNS = "http://www.w3.org/2000/svg";
const num = (v) => v.toFixed(2);
const boxOf = (ps) => [Math.min(...ps.map((p) => p[0])), Math.min(...ps.map((p) => p[1])), Math.max(...ps.map((p) => p[0])), Math.max(...ps.map((p) => p[1]))];

// at interpolates ys over rising xs, clamped to the ends.
export function at(xs, ys, x) {
  const n = xs.length;
  if (!n) return NaN;
  if (x <= xs[0]) return ys[0];
  if (x >= xs[n - 1]) return ys[n - 1];
  let lo = 0, hi = n - 1;
  while (hi - lo > 1) { const mid = (lo + hi) >> 1; if (xs[mid] < x) lo = mid; else hi = mid; }
  const f = (x - xs[lo]) / (xs[hi] - xs[lo]);
  return ys[lo] + f * (ys[hi] - ys[lo]);
}

export class Origin {
  // place turns metres of the arena into places of the drawing, metre is how long one is there.
  constructor(drawing, data, place, metre) {
    Object.assign(this, { drawing, data, place, metre, signs: {} });
    this.wholeBox = drawing.getAttribute("viewBox");
    for (const name of ["doubt", "asked-edge", "asked", "edge", "line", "core", "words"]) { // lowest first
      const el = document.createElementNS(svgNS, name === "words" ? "text" : "path");
      el.setAttribute("class", `lit lit-${name}`);
      drawing.append(el);
      this.signs[name] = el;
    }
  }

  // riddenOver is the line as ridden between two seconds, ends included, in pieces where nothing was
  // recorded; each place with its doubt.
  riddenOver(from, to) {
    const r = this.data.ride, pieces = [];
    let piece = null, blind = false;
    const put = (x, y, d, gap) => {
      if (gap || blind || !piece) pieces.push(piece = []);
      blind = gap;
      piece.push({ at: this.place(x, y), d });
    };
    const end = (t) => put(at(r.t, r.x, t), at(r.t, r.y, t), at(r.t, r.d, t), false);
    if (from > r.t[0]) end(from);
    for (let i = 0; i < r.t.length; i++) if (r.t[i] >= from && r.t[i] <= to) put(r.x[i], r.y[i], r.d[i], r.g[i]);
    if (to < r.t[r.t.length - 1]) end(to);
    return pieces.map((p) => p.length > 1 ? p : []);
  }

  path(pieces) {
    return pieces.map((p) => p.map(({ at: [x, y] }, i) => `${i ? "L" : "M"}${num(x)} ${num(y)}`).join("")).join("");
  }

  // bandOf is the room that a line may take up: one standard deviation to each side.
  bandOf(pieces) {
    return pieces.filter((p) => p.length > 1).map((p) => {
      const sides = [1, -1].map((side) => p.map(({ at: [x, y], d }, i) => {
        const [ax, ay] = p[Math.max(i - 1, 0)].at, [bx, by] = p[Math.min(i + 1, p.length - 1)].at;
        const n = Math.hypot(bx - ax, by - ay) || 1, w = side * Math.min(d, 5) * this.metre;
        return { at: [x - (by - ay) / n * w, y + (bx - ax) / n * w] };
      }));
      return this.path([[...sides[0], ...sides[1].reverse()]]) + "z";
    }).join("");
  }

  // askedOver is the line of the plan between two of its metres.
  askedOver(from, to) {
    const p = this.data.plan, list = [{ at: this.place(at(p.m, p.x, from), at(p.m, p.y, from)) }];
    for (let i = 0; i < p.m.length; i++) if (p.m[i] > from && p.m[i] < to) list.push({ at: this.place(p.x[i], p.y[i]) });
    list.push({ at: this.place(at(p.m, p.x, to), at(p.m, p.y, to)) });
    return [list];
  }

  // show lights up where a number comes from: the stretch of the ridden line it is made of with
  // its doubt, or the one place; beside it what the plan asks there, and the number. All else steps back.
  show(m) {
    const lit = (name, d) => this.signs[name].setAttribute("d", d);
    const known = m && this.data.ride && m.from >= 0;
    this.drawing.classList.toggle("focus", !!known);
    this.drawing.classList.toggle("focus-point", !!known && m.point);
    const words = this.signs.words;
    words.textContent = known ? m.short : "";
    for (const name of ["doubt", "asked-edge", "asked", "edge", "line", "core"]) lit(name, "");
    this.zoom(null);
    if (!known) return;
    const places = m.point ? this.litPoint(m, lit) : this.litArc(m, lit);
    this.writeBeside(words, places);
    this.zoom(places);
  }

  litArc(m, lit) {
    const ridden = this.riddenOver(m.from, m.to);
    const d = this.path(ridden), all = ridden.flat().map((q) => q.at);
    lit("doubt", this.bandOf(ridden));
    for (const name of ["edge", "line", "core"]) lit(name, d + this.endBars(ridden));
    const asked = m.askedTo > m.askedFrom ? this.askedOver(m.askedFrom, m.askedTo) : [];
    for (const name of ["asked-edge", "asked"]) lit(name, this.path(asked));
    return { ridden: all, all: all.concat(asked.flat().map((q) => q.at)) };
  }

  // endBars are short bars across the ends of the lit stretch.
  endBars(pieces) {
    const line = pieces.flat();
    const bar = (a, b) => {
      const [ax, ay] = line[a].at, [bx, by] = line[b].at, n = Math.hypot(bx - ax, by - ay) || 1;
      const nx = -(by - ay) / n * 1.7, ny = (bx - ax) / n * 1.7;
      return `M${num(ax - nx)} ${num(ay - ny)}L${num(ax + nx)} ${num(ay + ny)}`;
    };
    const n = line.length - 1, step = Math.min(3, n); // the very next point may be the same place
    return n < 1 ? "" : bar(0, step) + bar(n, n - step);
  }

  // litPoint marks one place with a cross, and joins it to the place asked, a ring.
  litPoint(m, lit) {
    const r = this.data.ride, t = (m.from + m.to) / 2, k = 2.4;
    const [x, y] = this.place(at(r.t, r.x, t), at(r.t, r.y, t));
    let asked = [];
    if (m.askedAt >= 0) {
      const p = this.data.plan, [ax, ay] = this.place(at(p.m, p.x, m.askedAt), at(p.m, p.y, m.askedAt)), q = 2.2;
      asked = [[ax, ay]];
      const ring = `M${num(ax - q)} ${num(ay)}a${q} ${q} 0 1 0 ${2 * q} 0a${q} ${q} 0 1 0 ${-2 * q} 0M${num(ax)} ${num(ay)}L${num(x)} ${num(y)}`;
      for (const name of ["asked-edge", "asked"]) lit(name, ring);
    }
    const cross = `M${num(x - k)} ${num(y - k)}l${2 * k} ${2 * k}m0 ${-2 * k}l${-2 * k} ${2 * k}`;
    for (const name of ["edge", "line", "core"]) lit(name, cross);
    return { ridden: [[x, y]], all: [[x, y], ...asked] };
  }

  // writeBeside puts the number inside a round stretch, else beside its middle, towards the middle of
  // the arena.
  writeBeside(words, { ridden }) {
    const [x0, y0, x1, y1] = boxOf(ridden);
    const d = this.drawing.dataset, mid = Number(d.ox) + Number(d.w) / 2 * this.metre;
    let [x, y] = ridden[Math.floor(ridden.length / 2)], anchor = x > mid + 1 ? "end" : "start";
    if (Math.min(x1 - x0, y1 - y0) > 9) [x, y, anchor] = [(x0 + x1) / 2, (y0 + y1) / 2, "middle"];
    else x += anchor === "end" ? -5 : 5;
    words.setAttribute("text-anchor", anchor);
    // The words stay between the boards.
    const long = words.getComputedTextLength(), left = x - { start: 0, middle: 0.5, end: 1 }[anchor] * long;
    const lo = Number(d.ox) + 1, hi = Number(d.ox) + Number(d.w) * this.metre - 1;
    x += Math.max(0, lo - left) - Math.max(0, left + long - hi);
    words.setAttribute("x", num(x));
    words.setAttribute("y", num(y + 1.6));
  }

  // zoom brings the place of a number closer where the drawing is small; null shows the whole arena.
  zoom(places) {
    const whole = document.querySelector("[data-whole]");
    const near = places && matchMedia("(max-width: 46rem)").matches;
    if (whole) whole.hidden = !near;
    if (!near) { this.drawing.setAttribute("viewBox", this.wholeBox); return; }
    const box = this.drawing.getBoundingClientRect(), [, , w, h] = this.wholeBox.split(" ").map(Number);
    const [x0, y0, x1, y1] = boxOf(places.all), wide = box.width / box.height;
    const high = Math.min(Math.max(y1 - y0 + 24, (x1 - x0 + 24) / wide, 0.36 * h), h);
    const cx = Math.min(Math.max((x0 + x1) / 2, Math.min(high * wide, w) / 2), w - Math.min(high * wide, w) / 2);
    const cy = Math.min(Math.max((y0 + y1) / 2, high / 2), h - high / 2);
    this.drawing.setAttribute("viewBox", [cx - high * wide / 2, cy - high / 2, high * wide, high].map((v) => num(v)).join(" "));
  }
}
