// A sentence in the school's words, what stands in braces filled in; the kit's where it has none.
let ownWords = {};
function inWords(text, values = {}) {
  return (ownWords[text] ?? text).replace(/\{(\w+)\}/g, (hole, name) => values[name] ?? hole);
}

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

// A picture's inner names hold the widget's place: each view of it gets names of its own. A page may
// hold several widgets and several views of each, and a script starts anew for every widget.
let views = 0;
function namesOf(model) {
  const place = model.get("place");
  const uid = `${place}-${++views}`;
  return { uid, renamed: (svg) => svg.replaceAll(place, uid) };
}

// Says what has changed, a moment later, so that a dragged slider does not chatter: short facts, and
// those sentences whose words are new. A sentence in which numbers alone have moved is not repeated.
function speaker() {
  const region = make("p", { class: "ab-visually-hidden", role: "status" });
  const pieces = (text) => text.split(/(?<=[.?]) (?=[A-Z])/);
  const words = (piece) => piece.replace(/[\d.,]+/g, "#");
  let before = null;
  let waiting;
  const tell = (text, facts = "") => {
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      const known = before === null ? [] : pieces(before).map(words);
      const fresh = pieces(text).filter((piece) => !known.includes(words(piece)));
      if (before !== null) region.textContent = [facts, ...fresh].filter(Boolean).join(" ");
      before = text;
    }, before === null ? 0 : 500);
  };
  const skip = (text) => { clearTimeout(waiting); before = text; };
  return { region, tell, skip, stop: () => clearTimeout(waiting) };
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

// Draws a widget wherever its cell's output keeps a place for it, now and whenever one appears. What
// `render` returns ends it; has that a `look`, it is called whenever the page has changed.
function drawInPlace(render) {
  return ({ model }) => {
    ownWords = model.get("words") ?? {};
    const drawn = new Map();
    const leave = keysThatLeave(model);
    const draw = () => {
      for (const el of document.getElementsByClassName(model.get("place"))) {
        if (drawn.has(el)) continue;
        el.replaceChildren();
        drawn.set(el, render({ model, el }));
        el.addEventListener("keydown", leave);
      }
      for (const stop of drawn.values()) stop?.look?.();
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
