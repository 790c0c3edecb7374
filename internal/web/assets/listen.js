// Replays a ride's sound and jumps to what was noted. Pieces belong to takes: a take begins with
// the file header of its format, the pieces after it only go on.

import { clockWords } from "./clock.js";

const base = location.pathname.replace(/\/listen$/, "");
const player = document.getElementById("sound");
const state = document.getElementById("listen-state");

const begins = (b) => (b[0] === 0x1a && b[1] === 0x45) || (b[0] === 0x4f && b[1] === 0x67 && b[5] & 2) || (b[4] === 0x66 && b[5] === 0x74);

async function takes(pieces) {
  const out = [];
  for (const p of [...pieces].sort((a, b) => a.at_s - b.at_s || a.seq - b.seq)) {
    const answer = await fetch(`${base}/sound/${p.seq}`, { credentials: "same-origin" });
    if (!answer.ok) continue;
    const bytes = new Uint8Array(await answer.arrayBuffer());
    if (begins(bytes) || !out.length) out.push({ from: p.at_s, media: p.media, parts: [] });
    out.at(-1).parts.push(bytes);
  }
  for (const t of out) t.url = URL.createObjectURL(new Blob(t.parts, { type: t.media }));
  return out;
}

// jump plays from shortly before a second of the ride's clock.
function jump(all, s) {
  const take = all.findLast((t) => t.from <= s) ?? all[0];
  if (!take) return;
  const go = () => { player.currentTime = Math.max(0, s - take.from - 3); player.play().catch(() => {}); };
  if (player.src !== take.url) {
    player.src = take.url;
    player.addEventListener("loadedmetadata", go, { once: true });
  } else go();
}

async function main() {
  const data = await (await fetch(base + "/listen.json", { credentials: "same-origin" })).json();
  const all = await takes(data.pieces);
  state.textContent = all.length ? `${data.pieces.length} pieces of sound. Choose a remark to hear it.` : "No sound was recorded with this ride.";
  player.classList.toggle("hidden", !all.length);
  if (all.length) player.src = all[0].url;
  document.getElementById("listen-notes").replaceChildren(...data.notes.map((n) => {
    const li = document.createElement("li");
    const b = document.createElement("button");
    b.type = "button";
    b.className = "quiet";
    b.textContent = `${clockWords(n.at_s)} ${n.movement ? "movement " + n.movement + ": " : ""}${n.words}`;
    b.addEventListener("click", () => jump(all, n.at_s));
    li.append(b);
    return li;
  }));
}

main().catch(() => { state.textContent = "The sound cannot be fetched now."; });
