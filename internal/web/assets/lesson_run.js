// Runs a lesson: clock, current block, ticks. Every tick is kept in the browser before it is
// shown, and sent until the server has it; sending twice is safe because a tick names itself.
import { clockWords as clock } from "./clock.js";

const state = JSON.parse(document.getElementById("run").textContent);
const root = document.querySelector("[data-run]");
const key = `lesson:${state.lesson_id}`;
const $ = (sel) => root.querySelector(sel);
const newID = () => crypto.randomUUID ? crypto.randomUUID() : [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");

const kept = (() => { try { return JSON.parse(localStorage.getItem(key)) || {}; } catch { return {}; } })();
let unsent = kept.unsent || [];
let seq = Math.max(0, ...state.steps.map((s) => s.seq), ...unsent.map((s) => s.seq));
let begun = kept.begun ?? null;          // wall clock in ms at which the lesson began
let block = kept.block ?? Math.max(-1, ...state.steps.filter((s) => s.kind === "begun").map((s) => s.block));

function save() {
  try { localStorage.setItem(key, JSON.stringify({ unsent, begun, block })); } catch { /* said below by the state line */ }
}
// A page that was lost and is opened elsewhere goes on from the last step the book has.
if (begun === null && state.steps.length) {
  const last = state.steps[state.steps.length - 1];
  begun = new Date(last.received).getTime() - last.at_s * 1000;
}
const elapsed = () => begun === null ? 0 : (Date.now() - begun) / 1000;

function note(kind, text = "") {
  const step = { id: newID(), lesson_id: state.lesson_id, seq: ++seq, kind, block: Math.max(block, 0), at_s: Math.round(elapsed() * 10) / 10, text, received: "0001-01-01T00:00:00Z" };
  unsent.push(step);
  save();
  const words = { begun: "begun", good: "good one", again: "not yet", done: "done", tired: "the horse tires", remark: text }[kind];
  const li = document.createElement("li");
  li.textContent = `${clock(step.at_s)} ${words}`;
  root.querySelector(`[data-run-block="${step.block}"] [data-run-ticks]`)?.append(li);
  send();
}

let sending = false;
async function send() {
  if (sending || !unsent.length) return show();
  sending = true;
  const batch = unsent.slice(0, 200);
  let sent = false;
  try {
    const r = await fetch(`/lessons/${state.lesson_id}/steps`, { method: "POST", headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify({ steps: batch }) });
    sent = r.ok;
    if (r.ok) { const ids = new Set(batch.map((s) => s.id)); unsent = unsent.filter((s) => !ids.has(s.id)); save(); }
  } catch { /* no server: kept here, tried again */ }
  sending = false;
  show();
  if (sent && unsent.length) send();
}
setInterval(send, 5000);
addEventListener("online", send);

function show() {
  const t = elapsed();
  $("[data-run-clock]").textContent = clock(t);
  const b = state.blocks[block];
  const left = state.total_s - t;
  $("[data-run-left]").textContent = left >= 0 ? `${clock(left)} left` : `${clock(-left)} over`;
  let words = begun === null ? "Not begun" : unsent.length ? `${unsent.length} kept on this phone` : "All in the book";
  if (b && begun !== null) {
    const late = t - (b.start_s + b.length_s);
    if (late > 60) words += `. This block is ${Math.round(late / 60)} min over: next, or plan the rest again`;
  }
  if ($("[data-run-state]").textContent !== words) $("[data-run-state]").textContent = words;
  for (const s of root.querySelectorAll("[data-run-block]")) s.hidden = Number(s.dataset.runBlock) !== Math.max(block, 0);
  for (const c of root.querySelectorAll("[data-run-do]")) {
    const first = begun === null;
    c.hidden = c.dataset.runDo === "begin" ? !first : first;
    if (c.dataset.runDo === "next") c.hidden = first || block >= state.blocks.length - 1;
  }
  bar(t);
}

// bar draws the blocks to scale with a mark for now; SVG, because the page allows no inline styles.
function bar(t) {
  const host = $("[data-run-bar]");
  const ns = "http://www.w3.org/2000/svg";
  if (!host.firstChild) {
    const svg = document.createElementNS(ns, "svg");
    svg.setAttribute("viewBox", "0 0 100 6");
    svg.setAttribute("preserveAspectRatio", "none");
    state.blocks.forEach((b, i) => {
      const r = document.createElementNS(ns, "rect");
      r.setAttribute("x", String(100 * b.start_s / state.total_s + 0.15));
      r.setAttribute("width", String(Math.max(0.3, 100 * b.length_s / state.total_s - 0.3)));
      r.setAttribute("y", "1"); r.setAttribute("height", "4");
      r.setAttribute("class", `bar-${b.kind === "exercise" ? "work" : "walk"}`);
      r.dataset.block = String(i);
      svg.append(r);
    });
    const now = document.createElementNS(ns, "rect");
    now.setAttribute("class", "bar-now"); now.setAttribute("width", "0.5"); now.setAttribute("y", "0"); now.setAttribute("height", "6");
    svg.append(now);
    host.append(svg);
  }
  host.querySelector(".bar-now").setAttribute("x", String(Math.min(99.5, 100 * t / state.total_s)));
  for (const r of host.querySelectorAll("[data-block]")) r.classList.toggle("now", Number(r.dataset.block) === block);
}

async function replan(tired) {
  await send();
  const body = { step_id: newID(), elapsed_s: elapsed(), begun: block + 1, tired };
  $("[data-run-state]").textContent = "Planning the rest again…";
  try {
    const r = await fetch(`/lessons/${state.lesson_id}/replan`, { method: "POST", headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify(body) });
    const answer = await r.json();
    if (r.ok) return location.reload();
    $("[data-run-state]").textContent = answer.message;
  } catch { $("[data-run-state]").textContent = "No server here: the plan stays as it is. Go on by eye."; }
}

const actions = {
  begin() { begun = Date.now(); block = 0; note("begun"); },
  good() { note("good"); },
  again() { note("again"); },
  next() { note("done"); block += 1; note("begun"); },
  tired() { note("tired"); replan(true); },
  replan() { replan(false); },
  remark() { const f = $("[data-run-remark]"); f.hidden = !f.hidden; if (!f.hidden) f.elements.remark.focus(); },
};
root.addEventListener("click", (e) => { const b = e.target.closest("[data-run-do]"); if (b) { actions[b.dataset.runDo](); save(); show(); } });
$("[data-run-remark]").addEventListener("submit", (e) => {
  e.preventDefault();
  const text = e.target.elements.remark.value.trim();
  if (text) note("remark", text);
  e.target.reset();
  e.target.hidden = true;
});

// The screen stays on while a lesson runs, where the browser allows it.
let lock = null;
async function awake() { try { if (begun !== null && document.visibilityState === "visible") lock = await navigator.wakeLock?.request("screen"); } catch { lock = null; } }
document.addEventListener("visibilitychange", awake);
root.addEventListener("click", () => { if (!lock) awake(); });

$("[data-run-controls]").hidden = false;
show();
setInterval(show, 500);
send();
