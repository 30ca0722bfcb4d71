// A text in the learner's own words: one box, or one box for each of its parts.

function wordCount(text) {
  const words = text.split(/\s+/).filter(Boolean).length;
  return words === 1 ? inWords("1 word") : inWords("{words} words", { words });
}

function text(field, { id, write }) {
  const count = make("p", { class: "ab-quiet", id: `${id}-count` });
  const area = make("textarea", { id, rows: "4", class: "ab-chart-input", "aria-describedby": `${id}-count`,
    oninput: () => { tally(); write(area.value, true); }, onchange: () => write(area.value) });
  const tally = () => { count.textContent = wordCount(area.value); };
  const paint = (_, typed) => {
    if (document.activeElement !== area) area.value = typed;
    tally();
  };
  return { box: make("div", {}, area, count), paint, controls: [area] };
}

// The parts of one text: each begins a line with its name and a colon. What stands before the first
// name was written in one piece and goes into the first box.
export function intoBoxes(text, names) {
  const found = names.map(() => []);
  let current = 0;
  for (const line of text.split("\n")) {
    const colon = line.indexOf(":");
    const named = colon < 0 ? -1 : names.findIndex((name) => fold(name) === fold(line.slice(0, colon)));
    if (named >= 0) current = named;
    found[current].push(named >= 0 ? line.slice(colon + 1).trim() : line);
  }
  return found.map((lines) => lines.filter(Boolean).join("\n"));
}

export function fromBoxes(values, names) {
  return values.map((value, i) => value.trim() && `${names[i]}: ${value.trim()}`).filter(Boolean).join("\n");
}

function boxes(field, { id, write }) {
  const names = field.boxes.map((part) => part.name);
  const count = make("p", { class: "ab-quiet" });
  const put = (soon) => {
    tally();
    write(fromBoxes(areas.map((area) => area.value), names), soon);
  };
  const areas = field.boxes.map((part, i) => make("textarea", { id: `${id}-${i}`, rows: "2",
    class: "ab-chart-input", "aria-describedby": part.says ? `${id}-${i}-says` : null,
    oninput: () => put(true), onchange: () => put(false) }));
  const tally = () => { count.textContent = inWords("{count} in all", { count: wordCount(areas.map((area) => area.value).join(" ")) }); };
  const paint = (_, typed) => {
    if (areas.includes(document.activeElement)) return;
    intoBoxes(typed, names).forEach((value, i) => { areas[i].value = value; });
    tally();
  };
  const parts = field.boxes.map((part, i) => make("div", { class: "ab-chart-part" },
    make("label", { for: `${id}-${i}` }, part.name),
    make("p", { class: "ab-quiet", id: `${id}-${i}-says` }, part.says), areas[i]));
  return { box: make("div", {}, ...parts, count), paint, controls: areas };
}

// "**Background**: what matters" with its first words strong.
function strong(text) {
  return text.split("**").map((part, i) => (i % 2 ? make("strong", {}, part) : part));
}

// Once something is written: another way to say it, and the reader's own ticks. Nothing is kept.
function compared({ model, ticks }, title) {
  const tally = make("p", { class: "ab-quiet", role: "status" });
  const inputs = ticks.map(() => make("input", { type: "checkbox", onchange: () => {
    tally.textContent = inWords("{n} of {all} are in your text.", {
      n: inputs.filter((input) => input.checked).length, all: ticks.length });
  } }));
  const way = [make("p", { class: "ab-chart-name" }, inWords("One way to say it")),
    make("blockquote", {}, ...model.map((line) => make("p", {}, line)))];
  const list = make("fieldset", { class: "ab-chart-field" },
    make("legend", { class: "ab-chart-name" }, ...named(title, inWords("Which of these are in your text?"))),
    make("p", { class: "ab-quiet" }, inWords("For you alone: nothing is kept or marked.")),
    make("div", { class: "ab-chart-options ab-chart-long" }, ...inputs.map((input, i) =>
      make("label", { class: "ab-chart-option" }, input, make("span", {}, ...strong(ticks[i]))))), tally);
  return [...(model.length ? way : []), ...(ticks.length ? [list] : [])];
}

// A button that shows them. The first press has the kernel keep the text as it stands as the first
// try; only then does it send the other text, and the kept lines go into the cell.
function comparePart({ title, model, source, turn, put }) {
  const shown = make("div", {});
  const id = `ab-compare-${Math.random().toString(36).slice(2)}`;
  const says = make("p", { class: "ab-quiet", role: "status", id });
  let data = null;
  let pressed = false;
  const set = (open) => {
    button.setAttribute("aria-expanded", String(open));
    shown.replaceChildren(...(open ? compared(data, title) : []));
  };
  const ask = () => {
    pressed = true;
    try { model.send({ kind: "compare", text: source(), turn: turn() }); } catch { says.textContent = noReply(); }
    setTimeout(() => { if (pressed) says.textContent = noReply(); }, 6000);
  };
  const button = make("button", { type: "button", class: "ab-chart-button", "aria-expanded": "false",
    "aria-describedby": id, onclick: () => (data.open ? set(button.getAttribute("aria-expanded") !== "true") : ask()),
  }, inWords("Compare with another text"), make("span", { class: "ab-chart-unseen" }, ` (${title.toLowerCase()})`));
  const offer = make("div", { hidden: "" }, button, shown);
  const box = make("div", { class: "ab-chart-compare" }, says, offer); // what is announced stands in the tree before
  const paint = (now) => {
    data = now ?? data;
    offer.hidden = !data;
    if (!data) return;
    if (says.textContent !== data.says) says.textContent = data.says;
    const kept = data.kept ?? [];
    if (kept.length && !FIRST_TRY.test(source())) {
      put((before) => (FIRST_TRY.test(before) ? before : [before.trimEnd(), ...kept].join("\n")), "",
        (text) => FIRST_TRY.test(text));
    }
    if (pressed && data.open) set(true);
    pressed = false;
  };
  return { box, paint };
}
