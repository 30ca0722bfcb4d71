// The form of one chart cell. The cell's text is the answer; the form only writes and shows it.
// placed.js, chart_text.js, cell_access.js and the controls stand before this file in its module.


// The name of a control begins with its question, heard but not seen: the question stands above it.
function named(title, text) {
  return [make("span", { class: "ab-chart-unseen" }, `${title}: `), text];
}

const struckIn = new WeakMap(); // by model: what is struck out, while the form lives

function struckOf(model, name) {
  if (!struckIn.has(model)) struckIn.set(model, new Map());
  const fields = struckIn.get(model);
  if (!fields.has(name)) fields.set(name, new Set());
  return fields.get(name);
}

function control(field, means) {
  if (field.kind === "order") return order(field, means);
  if (field.kind === "number") return number(field, means);
  if (field.kind === "text") return field.boxes?.length > 1 ? boxes(field, means) : text(field, means);
  return choices(field, means);
}

// A field's element: its name, what it asks about, its control, and what is wrong with its answer.
function framed(field, part, { id, title }) {
  const says = field.says ? make("p", { id: `${id}-asks`, class: "ab-chart-asks" }, field.says) : null;
  part.slip = make("p", { class: "ab-chart-slip", id: `${id}-slip`, role: "status" });
  const told = [says && `${id}-asks`, `${id}-slip`].filter(Boolean).join(" ");
  const name = named(title, field.name);
  part.controls ??= [];
  for (const one of part.controls) {
    one.setAttribute("aria-describedby", [one.getAttribute("aria-describedby"), told].filter(Boolean).join(" "));
  }
  part.frame = part.controls.length === 1
    ? make("div", { class: "ab-chart-field" }, make("label", { for: id, class: "ab-chart-name" }, ...name))
    : make("fieldset", { class: `ab-chart-field${isShort(field) ? " ab-chart-row" : ""}`,
      "aria-describedby": told }, make("legend", { class: "ab-chart-name" }, ...name));
  if (says) part.frame.append(says);
  if (field.kind === "many") part.frame.append(make("p", { class: "ab-quiet" }, inWords("Select all that apply.")));
  part.frame.append(part.box, part.slip);
  return part;
}

function render({ model, el }) {
  const { id: questionId, fields } = model.get("question");
  ownWords = model.get("words") ?? {};
  const title = questionId.startsWith("guess") ? inWords("Your guess") : questionId.startsWith("say")
    ? inWords("Your own words") : `Question ${questionId.replace(/^q/, "").replaceAll("-", ".")}`;
  const context = model.widget_manager?.context;
  const save = context?.save ? saver(context) : null;
  const unique = `ab-${questionId}-${Math.random().toString(36).slice(2)}`;
  const status = make("p", { class: "ab-chart-status", role: "status" });
  const summary = make("div", { class: "ab-chart-summary" });
  const spare = make("textarea", { readonly: "", rows: String(fields.length + 1), class: "ab-chart-input",
    "aria-label": inWords("The text of this cell, to copy ({title})", { title: title.toLowerCase() }), onfocus: () => spare.select() });
  const button = (onclick, text) => make("button", { type: "button", class: "ab-chart-button", onclick },
    text, make("span", { class: "ab-chart-unseen" }, ` (${title.toLowerCase()})`));
  const clear = button(clearOrRestore, inWords("Clear this answer"));
  const again = button(() => put((text) => text, inWords("Saved."), () => true), inWords("Save again"));
  const parts = new Map();
  const timers = new Map();
  let source = findCell(model)?.getSource() ?? model.get("text");
  let sent = 0;
  let cleared = null;
  let due = null; // what is said once the answer is saved and, where it can be misread, is read

  const say = (sentence) => { if (status.textContent !== sentence) status.textContent = sentence; };
  const tell = (after, held = false) => {
    source = after;
    sent += 1;
    paintText();
    try { model.send({ kind: "text", text: after, turn: sent, held }); } catch { /* no kernel: the cell holds it */ }
  };

  // Writes the cell, saves it, reads it back; says "Kept" only then, and only of what is understood.
  async function put(change, done, holds, field = null) {
    const cell = findCell(model);
    const before = cell ? cell.getSource() : source;
    const after = change(before);
    if (!cell) {
      tell(after, true);
      spare.value = after;
      spare.hidden = false;
      return say(context
        ? inWords("The cell of this question was not found. Copy the text below into it, then run it.")
        : inWords("Run this cell to keep this answer."));
    }
    if (after !== before) replaceSource(cell, before, after);
    tell(cell.getSource());
    const mine = { done, name: field?.name, turn: sent, unsure: field?.kind === "number" };
    if (done) due = mine;
    const slow = done && setTimeout(say, 400, inWords("Keeping…"));
    const saved = await Promise.resolve(save?.()).then(() => true, () => false);
    clearTimeout(slow);
    again.hidden = saved;
    mine.saved = saved;
    if (done && mine !== due) return; // a later press speaks
    if (!saved || !holds(cell.getSource())) {
      due = null;
      return say(saved ? inWords("The cell was changed meanwhile. What is typed in it counts.") : inWords("Your answer is in the cell, but the file is not saved yet."));
    }
    if (!done) return;
    speak();
    if (due) setTimeout(() => mine === due && mine.unsure && say(inWords("Kept in the notebook. It is read when the notebook runs again.")), 3000);
  }

  function speak() {
    if (!due?.saved) return;
    const state = model.get("state");
    const read = state.turn >= due.turn;
    if (due.unsure && !read) return;
    const wrong = read && state.problems.some((problem) => problem.field === due.name);
    say(wrong ? inWords("Not recorded: {name}. The reason stands beside it.", due) : due.done);
    if (read) due = null;
  }

  function write(field, value, soon = false, what = value) {
    clearTimeout(timers.get(field.name));
    timers.delete(field.name);
    if (soon) {
      timers.set(field.name, setTimeout(() => write(field, value), 600));
      return;
    }
    offerClear();
    const shown = what.length > 60 ? `${what.slice(0, 60)}…` : what;
    const lines = cellLines(value, fields).join("\n");
    if (lines === valueIn(source, fields, field.name) && findCell(model)?.getSource() === source) return;
    put((before) => withValue(before, fields, field.name, value),
      value ? inWords("Kept. {name}: {shown}", { name: field.name, shown })
        : inWords("Kept. {name} is empty again.", { name: field.name }),
      (now) => valueIn(now, fields, field.name) === lines, field);
  }

  function offerClear() {
    cleared = null;
    clear.firstChild.data = inWords("Clear this answer");
  }

  function clearOrRestore() {
    const now = findCell(model)?.getSource() ?? source;
    if (cleared && now === cleared.after) {
      const { before } = cleared;
      offerClear();
      put(() => before, inWords("Kept. Your answer is back."), (text) => text === before);
      return;
    }
    const lines = [...fields, SURE];
    const after = lines.reduce((text, { name }) => withValue(text, lines, name, ""), now);
    cleared = { before: now, after };
    clear.firstChild.data = inWords("Put the answer back");
    put(() => after, inWords("Cleared."), (text) => text === after);
  }

  // What the cell's text alone tells, with or without a kernel.
  function paintText() {
    clear.hidden = !cleared && !fields.some((field) => valueIn(source, fields, field.name));
    rows?.paint((field) => valueIn(source, fields, field.name));
  }

  function paint() {
    const state = model.get("state");
    paintText();
    if (state.turn < sent) return;
    for (const [name, part] of parts) {
      part.paint(state.values[name], valueIn(source, fields, name));
      const slips = state.problems.filter((problem) => problem.field === name);
      part.slip.textContent = slips.map((problem) => problem.sentence).join(" ");
      for (const one of part.controls) one.ariaInvalid = slips.length ? "true" : null;
    }
    compare.paint(state.compare);
    const strays = state.problems.filter((problem) => !parts.has(problem.field));
    summary.replaceChildren(...state.summary.map((line) => make("p", {}, line)),
      ...strays.map((problem) => make("p", { class: "ab-chart-slip" }, problem.sentence)));
    speak();
  }

  for (const field of fields) {
    const means = { id: `${unique}-${parts.size}`, title, struck: struckOf(model, field.name),
      write: (value, soon, what) => write(field, value, soon, what) };
    parts.set(field.name, framed(field, control(field, means), means));
  }
  const rows = isGrid(fields) ? rowByRow(fields, parts, title) : null;
  const compare = comparePart({ title, model, source: () => source, turn: () => sent, put });

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
  // Once the check has told a range, it stays on its line.
  const paintLimits = () => {
    for (const line of model.get("checked")?.lines ?? []) {
      if (line.limits) parts.get(line.field)?.limits?.(line.limits);
    }
  };
  const watched = findCell(model);
  watched?.changed?.connect(follow);
  model.on("change:state", paint);
  model.on("change:checked", paintLimits);

  spare.hidden = again.hidden = true;
  // The hook of check_answer.js: where it is joined to this module, `checkPart` gets the form's own
  // means and returns a node for below the fields (or null). `put(change, done, holds)` writes the
  // cell, saves it, reads it back and then says `done` (nothing where it is empty); `say(sentence)`
  // speaks in the form's one status line; `source()` is the cell's text; `frames` maps a field's name to its element;
  // `title` is "Question 2.3"; named(title, "How sure are you?") names a group by its question;
  // For the reserved line: withValue(source(), [...fields, SURE], SURE.name, word).
  const frames = new Map([...parts].map(([name, part]) => [name, part.frame]));
  const check = typeof checkPart !== "function" ? null
    : checkPart({ model, fields, title, frames, put, say, source: () => source });
  el.classList.add("ab", "ab-chart");
  el.addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s" && save) {
      event.preventDefault();
      save().then(() => say(inWords("Saved.")), () => say(inWords("The file is not saved. Try again.")));
    }
  });
  el.append(...(rows ? [rows.box] : frames.values()), compare.box, ...(check ? [check] : []),
    make("div", { class: "ab-chart-foot" }, make("div", { class: "ab-chart-said" }, status, summary), again, clear),
    spare);
  paint();
  paintLimits();
  if (source !== model.get("text")) tell(source);
  const options = optionsOnce(el, rows ? [] : [...frames.values()]);
  options.look();
  const stop = () => {
    options.stop();
    clearTimeout(typing);
    watched?.changed?.disconnect(follow);
    model.off("change:state", paint);
    model.off("change:checked", paintLimits);
  };
  return Object.assign(stop, { look: options.look });
}

export default { initialize: drawInPlace(render), render };
