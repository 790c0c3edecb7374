// Runs a caller's script in time with the ride. The clock starts when the horse enters at A; a
// tap on a call sets it to that call's movement. Nothing speaks unless asked to at home, and
// then only with a voice that lives on the device.
import { clockWords } from "./clock.js";

const box = document.querySelector("[data-caller]");
const lead = document.querySelector("[data-lead]");
lead?.addEventListener("change", () => lead.form.submit());
for (const b of document.querySelectorAll("[data-without-script]")) b.hidden = true;

if (box) {
  const items = [...document.querySelectorAll(".calls li")];
  const calls = items.map(li => ({ li, speak: +li.dataset.speak, end: +li.dataset.end, begins: +li.dataset.begins, words: li.querySelector(".words").textContent }));
  const get = name => box.querySelector(`[data-${name}]`);
  const say = get("say"), when = get("when"), until = get("until"), out = get("clock"), start = get("start"), aloud = document.querySelector("[data-aloud]");
  const total = +box.dataset.total;
  let at = 0, began = null, shown = -2, spoken = -1, lock = null;

  const time = () => began === null ? at : (performance.now() - began) / 1000;

  function run() {
    began = performance.now() - at * 1000;
    start.textContent = "Hold";
    navigator.wakeLock?.request("screen").then(l => { lock = l; }, () => {});
    requestAnimationFrame(tick);
  }
  function hold() {
    at = time();
    began = null;
    start.textContent = "Go on";
    speechSynthesis?.cancel?.();
    lock?.release();
    lock = null;
  }
  function jump(t) {
    at = t;
    if (began !== null) began = performance.now() - t * 1000;
    spoken = calls.filter(c => c.speak < t).length - 1;
    draw();
  }
  // current is the last call whose time to speak has come.
  const current = t => { let k = -1; calls.forEach((c, i) => { if (c.speak <= t) k = i; }); return k; };

  function draw() {
    const t = time(), k = current(t), saying = k >= 0 && t <= calls[k].end + 1 ? k : -1;
    out.textContent = clockWords(t);
    const next = calls[k + 1];
    if (saying >= 0) {
      until.value = Math.min(1, (t - calls[k].speak) / Math.max(calls[k].end - calls[k].speak, 0.1));
    } else if (next) {
      const from = k >= 0 ? calls[k].end : 0;
      until.value = Math.max(0, Math.min(1, (t - from) / Math.max(next.speak - from, 0.1)));
    } else {
      until.value = 1;
    }
    when.textContent = saying >= 0 ? "Say it now." : next ? `Next in ${Math.max(0, Math.ceil(next.speak - t))} s` : "All is called.";
    const mark = saying >= 0 ? saying : -1 - (k + 1);
    if (mark === shown) return;
    shown = mark;
    say.textContent = saying >= 0 ? calls[saying].words : next ? next.words : "Salute, and breathe.";
    say.classList.toggle("wait", saying < 0);
    calls.forEach((c, i) => {
      c.li.classList.toggle("said", i < k || (i === k && saying < 0));
      c.li.classList.toggle("saying", i === saying);
    });
    if (saying >= 0 && began !== null && saying > spoken) { spoken = saying; speak(calls[saying].words); }
  }
  function speak(words) {
    if (!aloud.checked || !window.speechSynthesis) return;
    const voice = speechSynthesis.getVoices().find(v => v.localService && v.lang.startsWith("en"));
    if (!voice) { aloud.checked = false; aloud.disabled = true; aloud.parentElement.append(" (no voice on this device)"); return; }
    const u = new SpeechSynthesisUtterance(words);
    u.voice = voice;
    speechSynthesis.speak(u);
  }
  function tick() {
    if (began === null) return;
    draw();
    if (time() > total + 5) { hold(); return; }
    requestAnimationFrame(tick);
  }
  // Words of one's own: kept on this device, for training only. The page says so as long as they
  // are used, and the sheet's words come back with the tick.
  const own = document.querySelector("[data-own]"), ownKey = "call words " + location.pathname;
  const sheets = calls.map(c => c.words);
  let mine = {};
  try { mine = JSON.parse(localStorage.getItem(ownKey)) || {}; } catch { /* none kept */ }
  function useOwn() {
    calls.forEach((c, i) => {
      c.words = own.checked && mine[sheets[i]] || sheets[i];
      c.li.querySelector(".words").textContent = c.words;
      c.li.querySelector(".own")?.remove();
      if (!own.checked) return;
      const field = document.createElement("input");
      field.className = "own";
      field.value = c.words;
      field.setAttribute("aria-label", "Own words for: " + sheets[i]);
      field.addEventListener("click", e => e.stopPropagation());
      field.addEventListener("input", () => {
        mine[sheets[i]] = field.value;
        c.words = field.value || sheets[i];
        c.li.querySelector(".words").textContent = c.words;
        try { localStorage.setItem(ownKey, JSON.stringify(mine)); } catch { /* this page only */ }
      });
      c.li.append(field);
    });
    box.classList.toggle("training", own.checked);
    shown = -2;
    draw();
  }
  own.addEventListener("change", useOwn);

  const toggle = () => began === null ? run() : hold();
  const step = d => {
    const k = current(time()), to = Math.min(Math.max(k + d, 0), calls.length - 1);
    jump(Math.max(0, calls[to].speak));
  };
  start.addEventListener("click", toggle);
  get("back").addEventListener("click", () => step(-1));
  get("on").addEventListener("click", () => step(1));
  items.forEach((li, i) => li.addEventListener("click", () => jump(Math.max(0, calls[i].begins))));
  document.addEventListener("keydown", e => {
    if (e.target.closest("input, select, a") || e.altKey || e.ctrlKey || e.metaKey) return;
    if (e.key === " " && !e.target.closest(".call")) { e.preventDefault(); toggle(); }
    if (e.key === "ArrowRight" || e.key === "ArrowDown") { e.preventDefault(); step(1); }
    if (e.key === "ArrowLeft" || e.key === "ArrowUp") { e.preventDefault(); step(-1); }
  });
}
