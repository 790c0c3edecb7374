// What every page does: switch light and dark.
for (const b of document.querySelectorAll("[data-theme-switch]")) {
  b.addEventListener("click", () => {
    const root = document.documentElement;
    const dark = root.dataset.theme ? root.dataset.theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
    root.dataset.theme = dark ? "light" : "dark";
    try { localStorage.setItem("theme", root.dataset.theme); } catch { /* this page only */ }
  });
}
