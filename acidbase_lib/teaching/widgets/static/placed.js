// Makes an element: `text` is what it says, `onclick` and the like are handlers, null leaves one out.
// A key pressed in a form is the form's: arrows choose, and "d d" must not delete the cell. The front
// end looks for this sign on the focused element itself, before its parents.
function make(tag, options = {}, ...children) {
  const { text, ...attributes } = options;
  const node = document.createElement(tag);
  node.setAttribute("data-lm-suppress-shortcuts", "true");
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value !== null) node.setAttribute(name, value);
  }
  if (text !== undefined) node.textContent = text;
  node.append(...children);
  return node;
}

// Leads the keyboard out of a form or a picture: Escape to its cell, Ctrl+S to the notebook's save.
// Keys pressed inside are kept from the notebook, so these two would do nothing else.
function keysThatLeave(model) {
  const context = model.widget_manager?.context;
  return (event) => {
    if (event.key === "Escape") event.currentTarget.closest(".jp-Cell")?.focus();
    const saves = (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s";
    if (!saves || event.defaultPrevented || !context?.save) return;
    event.preventDefault();
    context.save().catch(() => {}); // the notebook itself says that it could not be saved
  };
}

// Draws a widget wherever its cell's output keeps a place for it, now and whenever one appears.
function drawInPlace(render) {
  return ({ model }) => {
    const drawn = new Map();
    const leave = keysThatLeave(model);
    const draw = () => {
      for (const el of document.getElementsByClassName(model.get("place"))) {
        if (drawn.has(el)) continue;
        el.replaceChildren();
        drawn.set(el, render({ model, el }));
        el.addEventListener("keydown", leave);
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
