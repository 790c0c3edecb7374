// The ride's clock. It counts by the browser's steady clock, so that a phone whose wall clock is
// wrong, or is set right in the middle, counts on. The wall clock only bridges the time in which
// the page was away, and only when what it says is believable.

// clockWords writes seconds as minutes and seconds, to the nearest second, as draw.Clock does on every
// page and paper: a moment has one name.
export const clockWords = (s) => {
  const n = Math.round(Math.max(s, 0));
  return `${Math.floor(n / 60)}:${String(n % 60).padStart(2, "0")}`;
};

const longest = 3600; // s; a gap beyond it is a wrong clock, not a ride

export class RideClock {
  constructor(saved) {
    this.base = 0;
    this.from = null; // steady time of the last start, null while it stands
    this.doubt = false;
    if (!saved) return;
    this.base = saved.elapsed;
    if (!saved.running) return;
    const away = (Date.now() - saved.wall) / 1000;
    if (away >= 0 && away < longest) this.base += away;
    else this.doubt = true;
    this.from = performance.now();
  }

  get running() { return this.from !== null; }
  start() { if (!this.running) this.from = performance.now(); }
  stop() { this.base = this.now(); this.from = null; }

  // now is the seconds since the ride began.
  now() { return this.base + (this.running ? (performance.now() - this.from) / 1000 : 0); }

  // set puts the clock where the trainer says it is.
  set(s) {
    this.base = s;
    if (this.running) this.from = performance.now();
    this.doubt = false;
  }

  saved() { return { elapsed: this.now(), wall: Date.now(), running: this.running }; }
}

// Follower tells which movement it should be at a time, from the plan and the taps of "now".
// Between taps it runs at the pace of the last taps, held near the plan's by a prior of 30 s.
export class Follower {
  constructor(movements) { this.movements = movements; this.taps = []; }

  // setTaps takes standing notes of kind "now", in the order of the ride's clock.
  setTaps(notes) {
    this.taps = notes.filter((n) => n.kind === "now" && n.movement > 0)
      .map((n) => ({ at: n.at_s, index: this.movements.findIndex((m) => m.number === n.movement) }))
      .filter((t) => t.index >= 0);
  }

  rate() {
    const last = this.taps.slice(-4);
    let planned = 30, taken = 30;
    for (let i = 1; i < last.length; i++) {
      const p = this.movements[last[i].index].start_s - this.movements[last[i - 1].index].start_s;
      const t = last[i].at - last[i - 1].at;
      if (p > 0 && t > 0) { planned += p; taken += t; }
    }
    return Math.min(1.6, Math.max(0.6, taken / planned));
  }

  // startOf is when a movement should begin on the ride's clock.
  startOf(index) {
    const tap = this.taps.at(-1);
    if (!tap) return this.movements[index].start_s;
    return tap.at + (this.movements[index].start_s - this.movements[tap.index].start_s) * this.rate();
  }

  // indexAt is the movement that should be ridden at a time, never before the last tap.
  indexAt(s) {
    let at = this.taps.length ? this.taps.at(-1).index : 0;
    while (at + 1 < this.movements.length && this.startOf(at + 1) <= s) at++;
    return at;
  }
}
