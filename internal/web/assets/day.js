// The day: says who is now and who is next by the phone's clock, and is kept for reading without
// a server (worker.js).
const day = document.querySelector("[data-day]");
const two = (n) => String(n).padStart(2, "0");

function mark() {
  const now = new Date();
  const today = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  let next = false;
  for (const item of day.querySelectorAll("[data-start]")) {
    const out = item.querySelector("[data-now]");
    const [h, m] = item.dataset.start.split(":").map(Number);
    const from = h * 60 + m, at = now.getHours() * 60 + now.getMinutes();
    let words = "";
    if (day.dataset.day === today) {
      if (at >= from && at < from + Number(item.dataset.minutes)) words = "now";
      else if (at < from && !next) { next = true; words = `next, in ${from - at >= 60 ? `${Math.floor((from - at) / 60)} h ` : ""}${(from - at) % 60} min`; }
    }
    item.classList.toggle("now", words === "now");
    if (out.textContent !== words) out.textContent = words;
  }
}
if (day) { mark(); setInterval(mark, 20000); }

const said = document.querySelector("[data-offline-state]");
function tell() { if (said) said.textContent = navigator.onLine ? "" : "No signal: this is the day as last seen"; }
addEventListener("online", tell);
addEventListener("offline", tell);
tell();

// keep puts this day and the lessons of it into the phone, so that they can be read and taught
// from at a yard without a signal.
async function keep() {
  if (!navigator.serviceWorker || !window.caches || !navigator.onLine) return;
  try {
    await navigator.serviceWorker.register("/sw.js");
    await navigator.serviceWorker.ready; // only a worker that runs can show the day without a server
    const cache = await caches.open("day");
    const pages = [location.pathname, ...[...document.querySelectorAll("[data-keep]")].map((a) => a.getAttribute("href"))];
    for (const page of new Set(pages)) {
      const answer = await fetch(page, { headers: { Accept: "text/html" } });
      if (answer.ok && !answer.redirected) await cache.put(page, answer);
    }
    if (said && navigator.onLine) said.textContent = "Kept on this phone";
  } catch { /* refused or no room: the page still shows what it has */ }
}
if (day) keep();
