// Draws a widget wherever its cell's output keeps a place for it, now and whenever one appears.
function drawInPlace(render) {
  return ({ model }) => {
    const drawn = new Map();
    const draw = () => {
      for (const el of document.getElementsByClassName(model.get("place"))) {
        if (drawn.has(el)) continue;
        el.replaceChildren();
        drawn.set(el, render({ model, el }));
      }
    };
    const watch = new MutationObserver(draw);
    watch.observe(document.body, { childList: true, subtree: true });
    draw();
    return () => {
      watch.disconnect();
      for (const stop of drawn.values()) stop?.();
    };
  };
}
