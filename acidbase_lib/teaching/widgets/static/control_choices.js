// One or several of a field's choices: native radio buttons or checkboxes, each a large target.

const NONE = { word: "none", get shown() { return inWords("None of them"); } };

function label(choice) {
  if (!choice.mark) return [choice.shown];
  return [make("span", { "aria-hidden": "true", class: "ab-chart-mark" }, choice.mark), choice.shown];
}

// Few short words stand in one row beside the field's name, so a grid reads as one.
function isShort(field) {
  return field.kind === "one" && field.choices.map((choice) => choice.shown).join("").length <= 32;
}

// Low, normal, high are places on a line with the range in its middle. Its limits are what the
// learner is to know, so the line shows them only once the check has told them.
function isScale(field) {
  return field.kind === "one" && field.choices.map((choice) => choice.word).join() === "low,normal,high";
}

// Options that are whole lines behind letters can be struck out.
function isLettered(field) {
  return field.kind === "one" && field.choices.length > 2
    && field.choices.every((choice) => choice.shown.startsWith(`${choice.word}. `));
}

function choices(field, { id, title, write, struck }) {
  const type = field.kind === "one" ? "radio" : "checkbox";
  const offered = type === "radio" ? field.choices : [...field.choices, NONE];
  const inputs = offered.map((choice) =>
    make("input", { type, name: id, value: choice.word, onchange: (event) => choose(event.target) }));
  const texts = offered.map((choice) => make("span", { class: "ab-chart-text" }, ...label(choice)));
  const options = inputs.map((input, i) => make("label", { class: "ab-chart-option" }, input, texts[i]));
  const strikes = isLettered(field) ? strikeOut(options, texts, field, { id, title, struck }) : null;
  const choose = (clicked) => {
    const none = clicked.value === NONE.word;
    if (type === "checkbox" && clicked.checked) {
      for (const input of inputs) if ((input.value === NONE.word) !== none) input.checked = false;
    }
    if (strikes && struck.delete(clicked.value)) strikes.paint();
    write(inputs.filter((input) => input.checked).map((input) => input.value).join(", "));
  };
  const long = offered.some((choice) => choice.shown.length > 28);
  const box = make("div", { class: `ab-chart-options${long ? " ab-chart-long" : ""}` }, ...options);
  if (isScale(field)) box.classList.add("ab-chart-scale");
  else if (!long && !strikes && !isShort(field) && offered.length % 2 === 0) box.classList.add("ab-chart-pairs");
  if (strikes) {
    box.classList.add("ab-chart-strikes");
    box.append(strikes.bar, strikes.note);
  }
  const paint = (value) => {
    const words = Array.isArray(value) && !value.length ? [NONE.word] : [].concat(value ?? []);
    for (const input of inputs) input.checked = words.includes(input.value);
  };
  const focus = () => (inputs.find((input) => input.checked) ?? inputs[0]).focus();
  return { box, paint, focus, limits: isScale(field) ? limitsOf(box) : null };
}

// "35–45 mmHg" below the ends of the bar, and in one sentence for whoever does not see it.
function limitsOf(box) {
  const [low, high, all] = ["low", "high", "all"].map((name) =>
    make("span", { class: name === "all" ? "ab-chart-unseen" : `ab-chart-limit ab-chart-${name}`,
      "aria-hidden": name === "all" ? null : "true" }));
  const line = make("div", { class: "ab-chart-limits", hidden: "" }, low, high, all);
  const whose = make("p", { class: "ab-quiet ab-chart-whose", "aria-hidden": "true", hidden: "" });
  box.append(line, whose);
  return (text) => {
    const [range, ...more] = text.split(", "); // whose range it is has no room at the end of the bar
    // "4.7–6.0 kPa (35–45 mmHg)": the other unit has no room there either, and the sentence has it
    [low.textContent, high.textContent] = range.split(" (")[0].split("–");
    whose.textContent = more.join(", ");
    whose.hidden = !more.length;
    all.textContent = inWords("The range is {text}.", { text });
    line.hidden = false;
  };
}

// A learner's own note, which no one marks: an option struck out and put back. The switches are one
// stop of the Tab key after the options, with arrows between them, so the radio buttons stay as they are.
function strikeOut(options, texts, field, { id, title, struck }) {
  const words = field.choices.map((choice) => choice.word);
  const press = (word) => {
    if (!struck.delete(word)) struck.add(word);
    paint();
  };
  const buttons = words.map((word, i) => make("button", { type: "button", class: "ab-chart-button",
    "aria-label": inWords("Cross out {word}", { word }), title: inWords("Cross out {word}", { word }), tabindex: i ? "-1" : "0",
    style: `grid-row:${i + 1}`, onclick: () => press(word) }, make("s", {}, word)));
  const bar = make("div", { role: "toolbar", "aria-orientation": "vertical", class: "ab-chart-bar",
    "aria-label": inWords("{title}: cross out options", { title }), "aria-describedby": `${id}-note`,
    onkeydown: (event) => {
      const last = buttons.length - 1;
      const now = buttons.indexOf(event.target);
      const to = { ArrowDown: now + 1, ArrowUp: now - 1, Home: 0, End: last }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      const next = buttons[(to + buttons.length) % buttons.length];
      for (const button of buttons) button.tabIndex = button === next ? 0 : -1;
      next.focus();
    } }, ...buttons);
  options.forEach((option, i) => {
    option.style.gridRow = String(i + 1);
    texts[i].append(make("span", { class: "ab-chart-word", hidden: "" }, inWords(" (crossed out)")));
  });
  const paint = () => words.forEach((word, i) => {
    const out = struck.has(word);
    buttons[i].setAttribute("aria-pressed", String(out));
    options[i].classList.toggle("ab-chart-struck", out);
    texts[i].lastChild.hidden = !out;
  });
  paint();
  const note = make("p", { class: "ab-quiet ab-chart-note", id: `${id}-note` },
    inWords("To rule an option out, press its crossed-out letter. This is a note for you and is not marked."));
  return { bar, note, paint };
}
