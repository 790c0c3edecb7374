// An exercise as it is typed: the line and what is wrong with it follow every keystroke.
const form = document.querySelector("[data-exercise]");
let asked = 0;
let timer;

form.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(look, 250); });

async function look() {
  const turn = ++asked;
  let seen;
  try {
    const answer = await fetch("/exercises/try", { method: "POST", headers: { Accept: "application/json" }, body: new URLSearchParams(new FormData(form)) });
    if (!answer.ok) return;
    seen = await answer.json();
  } catch { return; } // no signal: it is checked when it is kept
  if (turn !== asked) return;
  form.querySelector("[data-drawing]").innerHTML = seen.drawing; // the server's own drawing, escaped there
  form.querySelector("[data-readings]").replaceChildren(...seen.readings.map((r) => item("li", r)));
  const list = item("ul", "");
  list.className = "problems";
  for (const p of seen.problems) {
    const li = item("li", "");
    li.className = "problem " + p.severity;
    li.append(item("b", p.severity), " ", item("span", "line " + p.line, "where"), " ", item("span", p.message), " ", item("span", p.suggestion, "suggestion"));
    list.append(li);
  }
  form.querySelector("[data-problems]").replaceChildren(list);
}

function item(tag, words, kind) {
  const e = document.createElement(tag);
  e.textContent = words;
  if (kind) e.className = kind;
  return e;
}
