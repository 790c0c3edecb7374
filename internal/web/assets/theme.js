// Sets light or dark before the first paint, so that the page does not flash.
(() => {
  try {
    const t = localStorage.getItem("theme");
    if (t === "light" || t === "dark") document.documentElement.dataset.theme = t;
  } catch { /* storage refused: follow the system */ }
})();
