// How sure, and Check my answer: the kernel judges and keeps the first try, this draws what it says.
// placed.js and chart_text.js stand before this file, chart_form.js after it and calls checkPart.

const FIRST_TRY = /^\s*#\s*first try\s*\(kept by the kit\)/im;
const noReply = () => inWords("No reply yet. Your answer is safe in its cell. Reload the page if nothing comes, then press again.");
const MARKS = { true: ["✓", () => inWords("right")], false: ["✗", () => inWords("not right yet")],
  null: ["–", () => inWords("not judged here")] };
const PARTLY = ["◐", () => inWords("partly right")];
const SURE_WORDS = { sure: () => inWords("Sure"), unsure: () => inWords("Unsure"), guess: () => inWords("Guess") };

// A radio button and its label, as the form's own fields have them.
function option(name, value, text, onchange) {
  const input = make("input", { type: "radio", name, value, onchange });
  return { input, label: make("label", { class: "ab-chart-option" }, input, make("span", {}, text)) };
}

function hidden(text) {
  return make("span", { class: "ab-visually-hidden" }, text);
}

// Three ways to be sure; what is chosen becomes a line of the cell, and nothing is chosen before.
function howSure({ fields, title, put, source }, name, words) {
  const all = [...fields, SURE];
  const keep = (word) => put((before) => withValue(before, all, SURE.name, word),
    inWords("Kept. How sure: {word}", { word: SURE_WORDS[word]?.().toLowerCase() ?? word }), (now) => valueIn(now, all, SURE.name) === word);
  const options = words.map((word) => option(name, word, SURE_WORDS[word]?.() ?? word,
    () => keep(word)));
  const box = make("fieldset", { class: "ab-chart-field ab-check-sure ab-chart-row" },
    make("legend", { class: "ab-chart-name" }, inWords("How sure are you?"), hidden(` ${title}`)),
    make("div", { class: "ab-chart-options" }, ...options.map((one) => one.label)));
  const paint = () => {
    const word = fold(valueIn(source(), all, SURE.name).split("\n").at(-1));
    for (const { input } of options) input.checked = input.value === word;
  };
  return { box, paint };
}

function lineOf(line) {
  const [mark, word] = line.partly ? PARTLY : MARKS[line.right];
  return make("li", { class: `ab-check-line ab-check-${line.right}` },
    make("p", {}, make("span", { class: "ab-check-mark", "aria-hidden": "true" }, mark),
      make("strong", {}, `${line.field}: `), `${line.given} `,
      make("em", { class: "ab-check-word" }, word())),
    ...[...line.why.split("\n"), line.reading].filter(Boolean).map((text) => make("p", {}, text)));
}

function checkPart({ model, fields, title, put, source }) {
  const words = model.get("question").how_sure ?? [];
  if (!words.length && !model.get("checked")?.counts) return null;
  const name = `ab-check-${Math.random().toString(36).slice(2)}`;
  // of a guess nobody is asked how sure it is
  const sure = words.length ? howSure({ fields, title, put, source }, `${name}-sure`, words) : null;
  const box = make("div", { class: "ab-check-box" }, ...(sure ? [sure.box] : []));
  if (sure) model.on("change:state", sure.paint);
  sure?.paint();
  if (!model.get("checked")?.counts) return box; // a sitting answers after it was handed in

  let turn = 0;
  let answered = 0;
  let late;
  const button = (text, ask, kind = "") => make("button", { type: "button",
    class: `ab-chart-button ${kind}`, "aria-label": `${text}, ${title}`,
    onclick: (event) => event.currentTarget.getAttribute("aria-disabled") !== "true" && send(ask) }, text);
  const check = button(inWords("Check my answer"), "now", "ab-check-go");
  const hint = button(inWords("Give me a hint"), "hint");
  const read = button(inWords("Show the reading"), "reading");
  const level = title.startsWith("Question") ? "h4" : "h3"; // a guess stands under no question
  const verdict = make(level, { class: "ab-check-verdict" });
  const said = make("p", { class: "ab-check-said" });
  const live = make("div", { role: "status", "aria-atomic": "false", class: "ab-check-live" }, verdict, said);
  const counts = make("p", { class: "ab-quiet ab-check-counts" });
  const note = make("p", { class: "ab-check-note" });
  const lines = make("ul", { class: "ab-check-lines", "aria-label": inWords("Your lines, {title}", { title }) });
  const next = make("p", { class: "ab-quiet ab-check-next" });
  const idea = make("p", { class: "ab-check-idea" });
  const hints = make("ol", { class: "ab-check-hints", "aria-label": inWords("Hints, {title}", { title }) });
  const why = make("fieldset", { class: "ab-chart-field ab-check-reasons" });
  const reading = make("div", { class: "ab-check-reading" });
  // A hint speaks where it stands: below its button, and nowhere else.
  const told = make("div", { role: "status", "aria-atomic": "false", class: "ab-check-told" }, hints);
  const hintRow = make("div", { class: "ab-check-more" }, hint);
  const readRow = make("div", { class: "ab-check-more" }, read);

  function send(ask, choice = -1) {
    turn += 1;
    const mine = turn;
    clearTimeout(late);
    const wait = (sentence) => { if (answered < mine) speak("", sentence); };
    late = setTimeout(() => {
      wait(inWords("Checking…"));
      late = setTimeout(() => wait(noReply()), 6000);
    }, 700);
    try {
      model.send({ kind: "check", ask, choice, text: source(), turn });
    } catch { speak("", noReply()); }
  }

  // The same words said twice are two events: emptied first, a screen reader hears the second one.
  function speak(heading, text) {
    for (const [node, words] of [[verdict, heading], [said, text]]) {
      if (node.textContent === words && words) node.textContent = "";
      node.textContent = words;
      node.hidden = !words;
    }
  }

  // What the kernel has kept goes into the cell; typed lines that came meanwhile stay.
  function keep(view) {
    const change = (before) => {
      if (typeof view.text === "string" && before === view.before) return view.text;
      if (FIRST_TRY.test(before) || !view.kept.length) return before;
      return [before.trimEnd(), ...view.kept].join("\n");
    };
    if (change(source()) !== source()) {
      put(change, "", (now) => !view.kept.length || FIRST_TRY.test(now));
    }
  }

  function paintReasons(view) {
    const wanted = view.shown ? view.reasons : [];
    const key = JSON.stringify([wanted, view.reason]);
    if (why.dataset.key === key) return;
    const focused = why.contains(document.activeElement) ? document.activeElement.value : null;
    why.dataset.key = key;
    why.hidden = !wanted.length;
    const chosen = wanted.findIndex((text) => text.split(/\s+/).join(" ").trim() === view.reason);
    const options = wanted.map((text, i) => option(`${name}-why`, String(i), text,
      () => view.reason === null && send("reason", i)));
    why.replaceChildren(
      make("legend", { class: "ab-chart-name" }, `${view.which} ${inWords("Choose one.")}`, hidden(` ${title}`)),
      make("div", { class: "ab-chart-options ab-chart-long" }, ...options.map((one) => one.label)),
      make("p", { class: "ab-check-judged" }, view.judged || ""));
    options.forEach(({ input }, i) => {
      input.checked = i === chosen;
      if (view.reason !== null && i !== chosen) input.disabled = true;
      if (input.value === focused) input.focus();
    });
  }

  function paint() {
    const view = model.get("checked");
    check.textContent = view.button;
    check.setAttribute("aria-label", `${view.button}, ${title}`);
    counts.textContent = view.counts;
    note.textContent = view.note;
    note.hidden = !view.note;
    lines.replaceChildren(...(view.lines ?? []).map(lineOf));
    next.textContent = view.next ?? "";
    next.hidden = !view.next;
    idea.textContent = view.idea ?? "";
    idea.hidden = !view.idea;
    const given = view.hints ?? [];
    if ([...hints.children].some((item, i) => item.textContent !== given[i])) hints.replaceChildren();
    hints.append(...given.slice(hints.children.length).map((text) => make("li", {}, text)));
    hints.hidden = !given.length;
    paintReasons(view);
    const steps = view.reading ?? [];
    reading.hidden = !steps.length;
    reading.replaceChildren(make(level, {}, inWords("The reading")), make("ol", {}, ...steps.map((step) => make("li", {}, step))));
    lines.hidden = !view.shown;
    hintRow.hidden = !view.shown || view.right;
    readRow.hidden = !view.shown;
    hint.setAttribute("aria-disabled", String(!view.more_hints));
    hint.hidden = !view.more_hints && !view.hints?.length;
    read.setAttribute("aria-disabled", String(!view.more_reading));
    read.hidden = !view.more_reading && document.activeElement !== read;
    return view;
  }

  function update() {
    if (!box.isConnected) { // this form was drawn anew elsewhere
      model.off("change:checked", update);
      return;
    }
    const view = paint();
    if (view.turn > answered || view.said || (view.shown && view.verdict !== verdict.textContent)) {
      answered = Math.max(answered, view.turn);
      clearTimeout(late);
      const more = view.asked === "hint" || view.asked === "reading"; // the verdict was heard before
      if (more) [said.textContent, said.hidden] = [view.said, !view.said];
      else speak(view.shown ? view.verdict : "", view.said);
      if (view.asked === "reading") reading.scrollIntoView({ block: "nearest" });
    } else if (!view.shown) speak("", "");
    keep(view);
  }

  const view = paint();
  turn = answered = view.turn;
  speak(view.shown ? view.verdict : "", view.said);
  keep(view);
  model.on("change:checked", update);
  box.append(make("div", { class: "ab-check-row" }, check, counts), live, note, lines, idea, next, hintRow, told, readRow, reading,
    why);
  return box;
}
