// Watches a work on the server until it is over. The stage is written only when it is another, so that a
// screen reader says each once.
export async function watch(id, box) {
  const stage = box.querySelector("[data-work-stage]"), share = box.querySelector("[data-work-share]");
  for (;;) {
    await new Promise((go) => setTimeout(go, 700));
    let state;
    try {
      const res = await fetch("/underway/" + id, { headers: { Accept: "application/json" } });
      if (!res.ok) return { done: true };
      state = await res.json();
    } catch {
      continue; // the book cannot be reached just now
    }
    if (state.done) return state;
    const words = state.stage ? state.stage[0].toUpperCase() + state.stage.slice(1) + "." : "";
    if (words && stage.textContent !== words) stage.textContent = words;
    share.value = state.percent;
  }
}
