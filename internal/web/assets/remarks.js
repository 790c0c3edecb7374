// Dragging a remark onto a movement: the same as choosing it in the remark's list and pressing Move.
let dragged = null;
let line = 0;

for (const card of document.querySelectorAll("[data-said]")) {
  card.addEventListener("dragstart", (e) => {
    if (e.target !== card) return; // words of it are dragged, not the remark
    dragged = card;
    e.dataTransfer.effectAllowed = "move";
    e.dataTransfer.setData("text/plain", card.dataset.said);
    card.classList.add("dragged");
  });
  // Words in a field are marked with the mouse, not dragged.
  card.addEventListener("focusin", (e) => { card.draggable = !e.target.matches("input"); });
  card.addEventListener("focusout", () => { card.draggable = true; });
  card.addEventListener("dragend", () => { card.classList.remove("dragged"); clear(); dragged = null; });
}

for (const box of document.querySelectorAll("[data-drop]")) {
  box.addEventListener("dragover", (e) => {
    if (!dragged || box.contains(dragged)) return;
    e.preventDefault();
    e.dataTransfer.dropEffect = "move";
    if (!box.classList.contains("over")) { clear(); box.classList.add("over"); }
  });
  box.addEventListener("drop", (e) => {
    if (!dragged || box.contains(dragged)) return;
    e.preventDefault();
    const form = dragged.querySelector("[data-move]");
    form.elements.to.value = box.dataset.drop;
    form.requestSubmit();
  });
}

// A page that is longer than the screen moves when a remark is held near its edge.
document.addEventListener("dragover", (e) => {
  if (!dragged) return;
  const edge = 90;
  const step = e.clientY < edge ? -14 : e.clientY > innerHeight - edge ? 14 : 0;
  cancelAnimationFrame(line);
  if (step) line = requestAnimationFrame(() => scrollBy({ top: step, behavior: "instant" }));
});

function clear() { for (const b of document.querySelectorAll(".over")) b.classList.remove("over"); }
