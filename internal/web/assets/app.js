// What every page does: switch light and dark.
for (const b of document.querySelectorAll("[data-theme-switch]")) {
  b.addEventListener("click", () => {
    const root = document.documentElement;
    const dark = root.dataset.theme ? root.dataset.theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
    root.dataset.theme = dark ? "light" : "dark";
    try { localStorage.setItem("theme", root.dataset.theme); } catch { /* this page only */ }
  });
}

// A form with files is sent without leaving the page: when something in it is refused, the
// chosen files are still chosen. Without this script the form works, but files are chosen again.
for (const form of document.querySelectorAll("form[data-keep-files]")) {
  form.addEventListener("submit", async (ev) => {
    ev.preventDefault();
    const button = form.querySelector("button:not([type=button])");
    if (button) button.disabled = true;
    try {
      const res = await fetch(form.action, { method: "POST", body: new FormData(form, ev.submitter), headers: { Accept: "text/html" } });
      const lasting = new URL(res.url).pathname.match(/^\/underway\/(\w+)$/);
      if (lasting) {
        await lastingForm(form, lasting[1], await res.text());
        return;
      }
      if (res.redirected || (res.ok && new URL(res.url).pathname !== location.pathname)) {
        location.assign(res.url);
        return;
      }
      const fault = new DOMParser().parseFromString(await res.text(), "text/html").querySelector(".formfault, [data-fault]");
      showFault(form, fault ?? plainFault("This was not taken. Nothing was kept; try again."));
    } catch {
      showFault(form, plainFault("The book cannot be reached. What you chose is still here; try again."));
    } finally {
      if (button) button.disabled = false;
    }
  });
}

// What a form asked for lasts: its page is shown above the form, whose files stay chosen until it is known
// whether they were taken.
async function lastingForm(form, id, page) {
  const { watch } = await import("./watch.js");
  const box = new DOMParser().parseFromString(page, "text/html").querySelector("[data-work]");
  if (!box) { location.assign("/underway/" + id); return; }
  showFault(form, box);
  const cancel = box.querySelector("form");
  cancel.addEventListener("submit", (ev) => {
    ev.preventDefault();
    fetch(cancel.action, { method: "POST" });
  });
  const state = await watch(id, box);
  if (state.go) { location.assign(state.go); return; }
  if (state.cancelled) { showFault(form, plainFault("Cancelled. Nothing was stored, and nothing was changed.")); return; }
  const res = await fetch("/underway/" + id);
  const fault = new DOMParser().parseFromString(await res.text(), "text/html").querySelector(".formfault, [data-fault]");
  showFault(form, fault ?? plainFault("This was not taken. Nothing was kept; try again."));
}

function plainFault(words) {
  const div = document.createElement("div");
  div.className = "formfault";
  div.setAttribute("role", "alert");
  div.append(Object.assign(document.createElement("p"), { textContent: words }));
  return div;
}

function showFault(form, fault) {
  for (const old of document.querySelectorAll(".formfault")) old.remove();
  form.before(fault);
  fault.classList.add("formfault");
  fault.setAttribute("role", "alert");
  fault.tabIndex = -1;
  fault.focus();
}
