// Builds the arena-side page. Everything is made of text nodes: no name or note is ever markup.

export function el(tag, attrs = {}, ...children) {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(attrs)) {
    if (k === "on") for (const [type, f] of Object.entries(v)) e.addEventListener(type, f);
    else if (v === true) e.setAttribute(k, "");
    else if (v !== false && v !== undefined) e.setAttribute(k, v);
  }
  e.append(...children);
  return e;
}

// frame lays the page out once; update fills it.
export function frame(act) {
  const f = {};
  const b = (words, attrs, f) => el("button", { type: "button", ...attrs, on: { click: f } }, words);
  f.clock = el("output", { class: "clock", "aria-label": "clock of the ride" }, "0:00");
  f.start = b("Start", { class: "start" }, act.start);
  f.record = b("Record", { class: "quiet record", "aria-pressed": "false" }, act.record);
  f.state = el("p", { class: "state", role: "status" });
  f.trouble = el("p", { class: "trouble", role: "alert", hidden: true });
  f.number = el("b", { class: "number" });
  f.letters = el("span", { class: "letters" });
  f.coefficient = el("span", { class: "coefficient" });
  f.text = el("p", { class: "text" });
  f.given = el("p", { class: "given", "aria-live": "polite" });
  f.pad = el("div", { class: "pad", role: "group", "aria-label": "mark" });
  for (let m = 0; m <= 10; m++) f.pad.append(b(String(m), { "data-mark": m }, () => act.mark(m)));
  f.half = b("½", { class: "half", "aria-label": "half a mark more" }, act.half);
  f.pad.append(f.half);
  f.faults = el("div", { class: "faults", role: "group", "aria-label": "faults" });
  f.back = b("◂", { class: "quiet step", "aria-label": "movement before" }, () => act.step(-1));
  f.forth = b("▸", { class: "quiet step", "aria-label": "movement after" }, () => act.step(1));
  f.now = b("", { class: "now" }, act.now);
  f.next = el("p", { class: "next" });
  f.missing = el("p", { class: "missing" });
  f.undo = b("Undo", { class: "quiet" }, act.undo);
  f.error = b("Error of course", { class: "quiet" }, act.error);
  f.later = b("Later", { class: "quiet", "aria-label": "note for later" }, act.later);
  f.words = el("input", { class: "words", placeholder: "words", "aria-label": "remark in words", maxlength: "2000", enterkeyhint: "done" });
  f.form = el("form", { class: "sayform", on: { submit: (e) => { e.preventDefault(); act.remark(f.words); } } }, f.words, el("button", {}, "Keep"));
  f.more = el("details", { class: "more" }, el("summary", {}, "Sheet, file, end"));
  f.page = [
    el("header", { class: "railtop" }, f.clock, f.start, f.record),
    f.state, f.trouble,
    el("section", { class: "this", "aria-label": "this movement" },
      el("h1", {}, f.back, f.number, f.letters, f.coefficient, f.forth), f.text, f.given),
    f.pad, f.faults, f.missing, f.form, f.more,
    el("footer", { class: "railfoot" }, f.next, f.now, el("div", { class: "keys" }, f.undo, f.error, f.later)),
  ];
  return f;
}

// faultKeys shows the prone faults first and all others behind "more".
export function faultKeys(f, prone, all, open, given, tap, toggle) {
  const key = (id) => el("button", { type: "button", class: "fault", "aria-pressed": String(given.has(id)), on: { click: () => tap(id) } }, id);
  const first = prone.slice(0, 6).map((w) => w.id);
  const keys = first.map(key);
  if (open) keys.push(...all.map((w) => w.id).filter((id) => !first.includes(id)).map(key));
  keys.push(el("button", { type: "button", class: "quiet fault", "aria-expanded": String(open), on: { click: toggle } }, open ? "fewer" : "more words"));
  f.faults.replaceChildren(...keys);
}
