// A judge's sheet: Enter goes down the marks, the sum follows what is typed, and what cannot be is
// said beside its field. All arithmetic is the server's.
const form = document.querySelector("[data-marks]");
const marks = [...form.querySelectorAll(".mark-field")];
let asked = 0;
let timer;

form.addEventListener("keydown", (e) => {
  const at = marks.indexOf(e.target);
  const step = { Enter: 1, ArrowDown: 1, ArrowUp: -1 }[e.key];
  if (at < 0 || !step) return;
  e.preventDefault();
  const next = marks[at + step];
  if (next) { next.focus(); next.select(); } else if (step > 0) form.querySelector("button[type=submit]").focus();
});

// Enter never sends the form by itself: a sheet is kept by its button.
form.addEventListener("keypress", (e) => { if (e.key === "Enter" && e.target.matches("input")) e.preventDefault(); });
form.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(look, 250); });
form.addEventListener("change", look);

async function look() {
  const turn = ++asked;
  let sum;
  try {
    const answer = await fetch(form.dataset.marks, { method: "POST", headers: { Accept: "application/json" }, body: new URLSearchParams(new FormData(form)) });
    if (!answer.ok) return;
    sum = await answer.json();
  } catch { return; } // no signal: the sheet is checked when it is kept
  if (turn !== asked) return;
  for (const out of form.querySelectorAll("[data-total]")) out.textContent = sum[out.dataset.total] ?? "";
  for (const out of form.querySelectorAll("[data-fault]")) {
    const words = sum.faults[out.dataset.fault] ?? "";
    if (out.textContent !== words) out.textContent = words;
    const field = document.getElementById(out.dataset.fault);
    if (words) field.setAttribute("aria-invalid", "true"); else field.removeAttribute("aria-invalid");
  }
}
