// Typing a sheet: each keystroke is sent, and what comes back replaces the drawing, the strip,
// the readings and the problems. At most one request is on its way; of the keystrokes made
// meanwhile only the last is sent. The line under the cursor and its movement are lit here.
const form = document.querySelector("[data-editor]");
const area = form.querySelector("textarea");
const rows = form.querySelector(".rows");
const now = form.querySelector("#now");
const pick = name => form.querySelector(`[data-${name}]`);
const parts = { drawing: pick("drawing"), strip: pick("strip"), facts: pick("facts"), problems: pick("problems"), readings: pick("readings"), pulse: pick("pulse"), here: pick("here") };
const key = "sheet draft " + (form.dataset.editor || "new");
let movements = [], problems = [], lineNow = -1, lit = null;

// The first preview is on the page; its lines are fetched once so that the cursor finds them.
const make = (tag, text, cls) => {
  const e = document.createElement(tag);
  if (text) e.textContent = text;
  if (cls) e.className = cls;
  return e;
};

let busy = false, again = 0;
async function send(typedAt) {
  if (busy) { again = typedAt; return; }
  busy = true;
  try {
    const answer = await fetch("/sheets/try", { method: "POST", headers: { Accept: "application/json" }, body: new URLSearchParams({ text: area.value }) });
    if (!answer.ok) throw new Error((await answer.json()).message);
    show(await answer.json());
    parts.pulse.textContent = "";
    if (typedAt) requestAnimationFrame(() => setTimeout(() => performance.measure("keystroke", { start: typedAt, end: performance.now() }))); // after it is painted
  } catch (e) {
    parts.pulse.textContent = navigator.onLine === false || e instanceof TypeError ? "not connected: the text is safe here" : e.message;
  }
  busy = false;
  if (again) { const t = again; again = 0; send(t); }
}

// put replaces a picture only when it has changed. SVG comes from our own server, which escapes
// every word in it.
const last = {};
function put(name, svg) {
  if (last[name] === svg) return;
  last[name] = svg;
  parts[name].innerHTML = svg;
}

function show(p) {
  movements = p.movements;
  problems = p.problems;
  put("drawing", p.drawing);
  hereLine();
  put("strip", p.strip);
  parts.facts.textContent = p.facts;
  parts.readings.replaceChildren(...movements.map(reading));
  listProblems();
  numbers();
  lineNow = -1;
  follow();
}

// listProblems leaves the list alone where it says the same, and the keyboard at the line where it was.
function listProblems() {
  const says = JSON.stringify(problems);
  if (last.problems === says) return;
  last.problems = says;
  const held = parts.problems.contains(document.activeElement) && document.activeElement.closest(".problem")?.dataset.line;
  const list = make("ul", "", "problems");
  list.append(...problems.map(problem));
  parts.problems.replaceChildren(...(problems.length ? [] : [make("p", "Every line is understood.", "v-ok")]), list);
  if (held) list.querySelector(`[data-line="${held}"] button`)?.focus();
}

function reading(m) {
  const li = make("li");
  li.value = m.number;
  li.dataset.movement = m.number;
  li.append(make("b", m.words), make("span", m.reading), make("span", m.facts, "soft"));
  if (m.pressed) li.append(make("span", m.pressed, "pressed"));
  return li;
}

function problem(q) {
  const li = make("li", "", "problem " + q.severity);
  li.dataset.line = q.line;
  li.dataset.column = q.column;
  const there = make("button", "line " + q.line, "quiet where"); // a button, so that the keyboard gets there too
  there.type = "button";
  li.append(make("b", q.severity), " ", there, " ", make("span", q.message));
  if (q.suggestion) li.append(make("span", q.suggestion, "suggestion"));
  return li;
}

// hereLine shows the arena once more beside the reading, for a screen too small to hold both text
// and drawing. It refers to the drawing and so follows whatever is lit there.
function hereLine() {
  const svg = parts.drawing.querySelector("svg");
  if (!svg) { parts.here.replaceChildren(); return; }
  svg.id = "line-drawn";
  const d = svg.dataset, h = 2 * d.oy + d.l * d.k / 100, w = svg.viewBox.baseVal.width;
  const ns = "http://www.w3.org/2000/svg", small = document.createElementNS(ns, "svg"), use = document.createElementNS(ns, "use");
  small.setAttribute("viewBox", `0 0 ${w} ${h}`);
  use.setAttribute("href", "#line-drawn");
  use.setAttribute("width", w);
  use.setAttribute("height", svg.viewBox.baseVal.height);
  small.append(use);
  parts.here.replaceChildren(small);
}

// numbers writes the same lines under the text, each with its number and a sign where it has a
// problem. They break where the text breaks, so that a long line keeps one number and lights up whole.
function numbers() {
  const lines = area.value.split("\n");
  const signs = new Map();
  for (const q of problems) if (q.severity === "error" || !signs.has(q.line)) signs.set(q.line, q.severity === "error" ? "▲" : q.severity === "warning" ? "△" : "·");
  while (rows.children.length > lines.length) rows.lastChild.remove();
  while (rows.children.length < lines.length) rows.append(make("div"));
  lines.forEach((text, i) => {
    const row = rows.children[i], number = (signs.get(i + 1) || "") + (i + 1);
    if (row.textContent !== (text || "\u200b")) row.textContent = text || "\u200b";
    if (row.dataset.number !== number) row.dataset.number = number;
  });
  rows.scrollTop = area.scrollTop;
}

// follow lights the line under the cursor and what belongs to it.
function follow() {
  const line = area.value.slice(0, area.selectionStart).split("\n").length;
  rows.querySelector(".at")?.classList.remove("at");
  rows.children[line - 1]?.classList.add("at");
  if (line === lineNow) return;
  lineNow = line;
  const m = movements.find(m => line >= m.first_line && line <= m.last_line);
  for (const e of form.querySelectorAll(".lit")) e.classList.remove("lit");
  for (const e of parts.readings.querySelectorAll("[aria-current]")) e.removeAttribute("aria-current");
  lit = m ? m.number : null;
  const here = problems.filter(q => q.line === line);
  now.replaceChildren(...here.map(problem));
  parts.drawing.querySelector("svg")?.classList.toggle("following", !!m);
  if (!m) return;
  for (const e of form.querySelectorAll(`.seen .movement[data-movement="${m.number}"], .seen .band[data-movement="${m.number}"], .seen .number[data-movement="${m.number}"]`)) {
    e.classList.add("lit");
  }
  const li = parts.readings.querySelector(`[data-movement="${m.number}"]`);
  if (li) li.setAttribute("aria-current", "true");
  now.append(make("b", `${m.number}: ${m.words}`), make("span", m.reading), make("span", m.facts, "soft"));
  if (m.pressed) now.append(make("span", m.pressed, "pressed"));
}

// toRow brings a row into view.
function toRow(row) {
  if (row) area.scrollTop = row.offsetTop - area.clientHeight / 3;
}

// goTo puts the cursor at a line and column and brings it into view.
function goTo(line, column) {
  const lines = area.value.split("\n");
  let at = 0;
  for (let i = 0; i < line - 1 && i < lines.length; i++) at += lines[i].length + 1;
  at += Math.min(Math.max(column - 1, 0), (lines[line - 1] || "").length);
  area.focus();
  area.setSelectionRange(at, at);
  toRow(rows.children[line - 1]);
  follow();
}

area.addEventListener("input", e => {
  const typedAt = e.timeStamp || performance.now();
  numbers();
  follow();
  try { localStorage.setItem(key, area.value); } catch { /* the page still holds it */ }
  send(typedAt);
});
area.addEventListener("scroll", () => { rows.scrollTop = area.scrollTop; });
document.addEventListener("selectionchange", () => { if (document.activeElement === area) follow(); });
for (const type of ["keyup", "click", "focus"]) area.addEventListener(type, follow);

form.addEventListener("click", e => {
  const q = e.target.closest(".problem[data-line]");
  if (q) goTo(+q.dataset.line, +q.dataset.column);
  const m = e.target.closest(".readings [data-movement], .seen .number, .seen .band");
  const found = m && movements.find(x => x.number === +m.dataset.movement);
  if (found) goTo(found.first_line, 1);
});
// What was typed here and never kept can be brought back.
const back = pick("restore");
try {
  const draft = localStorage.getItem(key);
  if (draft === area.value) localStorage.removeItem(key);
  if (draft && draft !== area.value) {
    back.hidden = false;
    back.addEventListener("click", () => { area.value = draft; back.hidden = true; area.dispatchEvent(new Event("input")); area.focus(); });
  }
} catch { /* storage refused */ }
// On a phone the keys take half of the screen: the text takes part of what is left, so that the
// reading and the line below it stay in sight, and the page moves the text to the top.
const narrow = matchMedia("(max-width: 59.99rem)");
const room = window.visualViewport;
function fit() {
  form.style.setProperty("--room", `${Math.round(room.height)}px`);
  const row = rows.querySelector(".at");
  if (row && (row.offsetTop < area.scrollTop || row.offsetTop + row.offsetHeight > area.scrollTop + area.clientHeight)) toRow(row);
}
if (room) { room.addEventListener("resize", fit); fit(); }
area.addEventListener("focus", () => {
  if (narrow.matches) setTimeout(() => form.querySelector(".page-of-text").scrollIntoView({ block: "start" }), 300); // when the keys are up
});
pick("check").hidden = true; // every keystroke checks
numbers();
send(0);
