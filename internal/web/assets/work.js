// The page of a work that lasts: its stage and share change in place, and its answer is fetched when it is
// there. Without this script the page asks again by itself.
import { watch } from "./watch.js";

const box = document.querySelector("[data-work]");
if (box) {
  watch(box.dataset.work, box).then(() => location.reload());
}
