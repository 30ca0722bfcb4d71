// The form of one chart cell. The cell's text is the answer; the form only writes and shows it.
// placed.js and chart_text.js stand before this file in the module that the browser gets.

// ---- the cell: found by its id, else by its first line ----

function findCell(model) {
  const cells = model.widget_manager?.context?.model?.sharedModel?.cells;
  if (!cells) return null;
  const asks = (cell) => HEAD.exec(cell.getSource())?.[1] === model.get("question").id;
  const own = cells.find((cell) => cell.id === model.get("cell_id"));
  if (own && asks(own)) return own;
  const same = cells.filter(asks);
  return same.length === 1 ? same[0] : null;
}

// Only the part that differs is replaced, so the cursor of a typing learner stays in place.
function replaceSource(cell, before, after) {
  if (!cell.updateSource) return cell.setSource(after);
  const short = Math.min(before.length, after.length);
  let start = 0;
  while (start < short && before[start] === after[start]) start += 1;
  let tail = 0;
  const same = () => before[before.length - 1 - tail] === after[after.length - 1 - tail];
  while (tail < short - start && same()) tail += 1;
  cell.updateSource(start, before.length - tail, after.slice(start, after.length - tail));
}

// One save at a time; clicks that come meanwhile share the next one.
function saver(context) {
  let running = Promise.resolve();
  let next = null;
  const start = () => {
    next = null;
    running = context.save();
    return running;
  };
  return () => (next ??= running.then(start, start));
}

// ---- the form ----

const NONE = { word: "none", shown: "None of them" };

function label(choice) {
  if (!choice.mark) return [choice.shown];
  return [make("span", { "aria-hidden": "true", class: "ab-chart-mark" }, choice.mark), choice.shown];
}

// Few short words stand in one row beside the field's name, so a grid reads as one.
function isShort(field) {
  return field.kind === "one" && field.choices.map((choice) => choice.shown).join("").length <= 32;
}

function choices(field, group, type, write) {
  const offered = type === "radio" ? field.choices : [...field.choices, NONE];
  const inputs = offered.map((choice) =>
    make("input", { type, name: group, value: choice.word, onchange: (event) => choose(event.target) }));
  const choose = (clicked) => {
    const none = clicked.value === NONE.word;
    if (type === "checkbox" && clicked.checked) {
      for (const input of inputs) if ((input.value === NONE.word) !== none) input.checked = false;
    }
    write(inputs.filter((input) => input.checked).map((input) => input.value).join(", "));
  };
  const options = inputs.map((input, i) =>
    make("label", { class: "ab-chart-option" }, input, make("span", {}, ...label(offered[i]))));
  const long = offered.some((choice) => choice.shown.length > 28);
  const box = make("div", { class: `ab-chart-options${long ? " ab-chart-long" : ""}` }, ...options);
  const paint = (value) => {
    const words = Array.isArray(value) && !value.length ? [NONE.word] : [].concat(value ?? []);
    for (const input of inputs) input.checked = words.includes(input.value);
  };
  return { box, paint };
}

function order(field, write, say) {
  const list = make("ol", { class: "ab-chart-order" });
  const hint = make("p", { class: "ab-quiet" });
  const keep = make("button", { type: "button", class: "ab-chart-button",
    onclick: () => write(words.join(" > ")) }, "Keep this order");
  let words = field.choices.map((choice) => choice.word);
  const shown = (word) => field.choices.find((choice) => choice.word === word).shown;
  const move = (word, step) => {
    const from = words.indexOf(word);
    const to = from + step;
    if (to < 0 || to >= words.length) return;
    words.splice(to, 0, ...words.splice(from, 1));
    draw();
    list.children[to].querySelector(step < 0 ? ".ab-chart-up" : ".ab-chart-down").focus();
    say(`${shown(word)}: now ${to + 1} of ${words.length}.`);
    write(words.join(" > "));
  };
  const arrow = (word, step, mark, name, stuck) => make("button", {
    type: "button", class: `ab-chart-button ab-chart-${name}`, "aria-disabled": stuck ? "true" : null,
    "aria-label": `Move ${name}: ${shown(word)}`, onclick: () => move(word, step) }, mark);
  const draw = () => list.replaceChildren(...words.map((word, i) => make("li", {},
    make("span", { class: "ab-chart-step" }, shown(word)),
    arrow(word, -1, "▲", "up", i === 0), arrow(word, 1, "▼", "down", i === words.length - 1))));
  const paint = (value) => {
    const placed = Array.isArray(value) && value.length === words.length;
    hint.textContent = placed ? "First at the top." :
      "First at the top. Not answered yet: move a step, or keep this order as it is.";
    keep.hidden = placed;
    if (placed && value.join() !== words.join()) words = [...value];
    if (list.children.length === 0 || placed) redrawKeepingFocus();
  };
  const redrawKeepingFocus = () => {
    const focused = [...list.querySelectorAll("button")].indexOf(document.activeElement);
    draw();
    if (focused >= 0) list.querySelectorAll("button")[focused].focus();
  };
  return { box: make("div", {}, hint, list, keep), paint };
}

function number(field, id, write) {
  const [amount, unit] = [make("input", { id, type: "text", inputmode: "decimal", size: "8",
    autocomplete: "off", class: "ab-chart-input", oninput: () => write(written(), true),
    onchange: () => write(written()) }), unitOf(field, () => amount.value && write(written()))];
  const written = () => [amount.value.trim(), amount.value.trim() && (unit.value ?? field.unit ?? "")]
    .filter(Boolean).join(" ");
  const paint = (_, typed) => {
    if (document.activeElement === amount) return;
    const known = field.units.find((name) => typed.toLowerCase().endsWith(name.toLowerCase()));
    amount.value = known ? typed.slice(0, -known.length).trim() : typed;
    if (known && unit.tagName === "SELECT") unit.value = known;
  };
  return { box: make("div", { class: "ab-chart-number" }, amount, unit), paint };
}

function unitOf(field, onchange) {
  if (field.units.length < 2) return make("span", {}, field.unit ?? "");
  return make("select", { class: "ab-chart-input", "aria-label": `Unit of ${field.name}`, onchange },
    ...field.units.map((name) => make("option", { value: name }, name)));
}

function text(field, id, write) {
  const count = make("p", { class: "ab-quiet", id: `${id}-count` });
  const area = make("textarea", { id, rows: "4", class: "ab-chart-input", "aria-describedby": `${id}-count`,
    oninput: () => { tally(); write(area.value, true); }, onchange: () => write(area.value) });
  const tally = () => {
    const words = area.value.split(/\s+/).filter(Boolean).length;
    count.textContent = words === 1 ? "1 word" : `${words} words`;
  };
  const paint = (_, typed) => {
    if (document.activeElement !== area) area.value = typed;
    tally();
  };
  return { box: make("div", {}, area, count), paint };
}

function render({ model, el }) {
  const { id: questionId, fields } = model.get("question");
  const context = model.widget_manager?.context;
  const save = context?.save ? saver(context) : null;
  const unique = `ab-${questionId}-${Math.random().toString(36).slice(2)}`;
  const status = make("p", { class: "ab-chart-status", role: "status" });
  const summary = make("div", { class: "ab-chart-summary" });
  const spare = make("textarea", { readonly: "", rows: String(fields.length + 1), class: "ab-chart-input",
    "aria-label": "The text of this cell, to copy" });
  const clear = make("button", { type: "button", class: "ab-chart-button", onclick: clearOrRestore },
    "Clear this answer");
  const parts = new Map();
  const timers = new Map();
  let source = findCell(model)?.getSource() ?? model.get("text");
  let sent = 0;
  let cleared = null;

  const say = (sentence) => { status.textContent = sentence; };
  const tell = (after, held = false) => {
    source = after;
    sent += 1;
    try { model.send({ kind: "text", text: after, turn: sent, held }); } catch { /* no kernel: the cell holds it */ }
  };

  // Writes the cell, saves it, reads it back; says "Kept" only then.
  async function put(change, done, holds) {
    const cell = findCell(model);
    const before = cell ? cell.getSource() : source;
    const after = change(before);
    if (!cell) {
      tell(after, true);
      spare.value = after;
      spare.hidden = false;
      return say(context ? "The cell of this question was not found. Copy the text below into it, "
        + "then press Shift+Enter." : "Press Shift+Enter in the cell to keep this answer.");
    }
    if (after !== before) replaceSource(cell, before, after);
    tell(cell.getSource());
    if (done) say("Keeping…");
    try {
      await save?.();
    } catch {
      return say("Your answer is in the cell, but the file is not saved yet. Press Ctrl+S to save it.");
    }
    const held = holds(cell.getSource());
    if (done || !held) say(held ? done : "The cell was changed meanwhile. What is typed in it counts.");
  }

  function write(field, value, soon = false) {
    clearTimeout(timers.get(field.name));
    timers.delete(field.name);
    if (soon) {
      timers.set(field.name, setTimeout(() => write(field, value), 600));
      return;
    }
    offerClear();
    const shown = value.length > 60 ? `${value.slice(0, 60)}…` : value;
    const lines = cellLines(value, fields).join("\n");
    if (lines === valueIn(source, fields, field.name) && findCell(model)?.getSource() === source) return;
    put((before) => withValue(before, fields, field.name, value),
      value ? `Kept. ${field.name}: ${shown}` : `Kept. ${field.name} is empty again.`,
      (now) => valueIn(now, fields, field.name) === lines);
  }

  function offerClear() {
    cleared = null;
    clear.textContent = "Clear this answer";
  }

  function clearOrRestore() {
    const now = findCell(model)?.getSource() ?? source;
    if (cleared && now === cleared.after) {
      const { before } = cleared;
      offerClear();
      put(() => before, "Kept. Your answer is back.", (text) => text === before);
      return;
    }
    const after = fields.reduce((text, field) => withValue(text, fields, field.name, ""), now);
    cleared = { before: now, after };
    clear.textContent = "Put the answer back";
    put(() => after, "Cleared.", (text) => text === after);
  }

  function paint() {
    const state = model.get("state");
    clear.hidden = !cleared && !fields.some((field) => valueIn(source, fields, field.name));
    if (state.turn < sent) return;
    for (const [name, part] of parts) {
      part.paint(state.values[name], valueIn(source, fields, name));
      const slips = state.problems.filter((problem) => problem.field === name);
      part.slip.textContent = slips.map((problem) => problem.sentence).join(" ");
      part.slip.hidden = !slips.length;
    }
    const strays = state.problems.filter((problem) => !parts.has(problem.field));
    summary.replaceChildren(...state.summary.map((line) => make("p", {}, line)),
      ...strays.map((problem) => make("p", { class: "ab-chart-slip" }, problem.sentence)));
  }

  for (const field of fields) {
    const id = `${unique}-${parts.size}`;
    const own = (value, soon) => write(field, value, soon);
    const part = field.kind === "one" ? choices(field, id, "radio", own)
      : field.kind === "many" ? choices(field, id, "checkbox", own)
      : field.kind === "order" ? order(field, own, say)
      : field.kind === "number" ? number(field, id, own) : text(field, id, own);
    part.slip = make("p", { class: "ab-chart-slip", hidden: "" });
    const single = field.kind === "number" || field.kind === "text";
    part.frame = single
      ? make("div", { class: "ab-chart-field" }, make("label", { for: id, class: "ab-chart-name" }, field.name))
      : make("fieldset", { class: `ab-chart-field${isShort(field) ? " ab-chart-row" : ""}` },
        make("legend", { class: "ab-chart-name" }, field.name));
    if (field.kind === "many") {
      part.frame.append(make("p", { class: "ab-quiet" }, "Select all that apply."));
    }
    part.frame.append(part.box, part.slip);
    parts.set(field.name, part);
  }

  // Typing in the cell wins: the form follows it, and the kernel reads it.
  let typing = null;
  const follow = () => {
    clearTimeout(typing);
    typing = setTimeout(() => {
      const now = findCell(model)?.getSource();
      if (now === undefined || now === source) return;
      offerClear();
      tell(now);
    }, 400);
  };
  const watched = findCell(model);
  watched?.changed?.connect(follow);
  model.on("change:state", paint);

  spare.hidden = true;
  // The hook of check_answer.js: where it is joined to this module, `checkPart` gets the form's own
  // means and returns a node for below the fields (or null). `put(change, done, holds)` writes the
  // cell, saves it, reads it back and then says `done`, if it is not empty; `say(sentence)` speaks in the form's one
  // status line; `source()` is the cell's text; `frames` maps a field's name to its element;
  // `title` is "Question 2.3". For the reserved line: withValue(source(), [...fields, SURE], SURE.name, word).
  const frames = new Map([...parts].map(([name, part]) => [name, part.frame]));
  const title = `Question ${questionId.replace(/^q/, "").replaceAll("-", ".")}`;
  const check = typeof checkPart !== "function" ? null
    : checkPart({ model, fields, title, frames, put, say, source: () => source });
  el.classList.add("ab", "ab-chart");
  el.addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s" && save) {
      event.preventDefault();
      save().then(() => say("Saved."), () => say("The file is not saved. Try again."));
    }
  });
  el.append(make("div", { role: "group", "aria-label": `Answer to ${questionId}` },
    ...[...parts.values()].map((part) => part.frame), ...(check ? [check] : []),
    make("div", { class: "ab-chart-foot" }, make("div", { class: "ab-chart-said" }, status, summary), clear),
    spare));
  paint();
  if (source !== model.get("text")) tell(source);
  return () => {
    clearTimeout(typing);
    watched?.changed?.disconnect(follow);
    model.off("change:state", paint);
  };
}

export default { initialize: drawInPlace(render), render };
