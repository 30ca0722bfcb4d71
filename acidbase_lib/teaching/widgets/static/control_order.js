// Steps put in order by buttons: up and down, the keyboard's focus staying on the step that moved.

function order(field, { write }) {
  const list = make("ol", { class: "ab-chart-order" });
  const hint = make("p", { class: "ab-quiet" });
  const keep = make("button", { type: "button", class: "ab-chart-button",
    onclick: () => answer(inWords("this order")) }, inWords("Keep this order"));
  let words = field.choices.map((choice) => choice.word);
  const shown = (word) => field.choices.find((choice) => choice.word === word).shown;
  const answer = (what) => {
    paint(words);
    write(words.join(" > "), false, what);
  };
  const move = (word, step) => {
    const from = words.indexOf(word);
    const to = from + step;
    if (to < 0 || to >= words.length) return;
    words.splice(to, 0, ...words.splice(from, 1));
    draw();
    list.children[to].querySelector(step < 0 ? ".ab-chart-up" : ".ab-chart-down").focus();
    answer(inWords("{step}: now {n} of {all}", { step: shown(word), n: to + 1, all: words.length }));
  };
  const arrow = (word, step, mark, name, stuck) => make("button", {
    type: "button", class: `ab-chart-button ab-chart-${name}`, "aria-disabled": stuck ? "true" : null,
    "aria-label": name === "up" ? inWords("Move up: {step}", { step: shown(word) })
      : inWords("Move down: {step}", { step: shown(word) }), onclick: () => move(word, step) }, mark);
  let drawn = null;
  const draw = () => {
    drawn = words.join();
    list.replaceChildren(...words.map((word, i) => make("li", {},
      make("span", { class: "ab-chart-step" }, shown(word)),
      arrow(word, -1, "▲", "up", i === 0), arrow(word, 1, "▼", "down", i === words.length - 1))));
  };
  const paint = (value) => {
    const placed = Array.isArray(value) && value.length === words.length;
    hint.textContent = placed ? inWords("First at the top.") :
      inWords("First at the top. Not answered yet: move a step, or keep this order as it is.");
    keep.hidden = placed;
    if (placed && value.join() !== words.join()) words = [...value];
    // Drawn anew under a finger that is down, a button would lose its press.
    if (drawn !== words.join()) redrawKeepingFocus();
  };
  const redrawKeepingFocus = () => {
    const focused = [...list.querySelectorAll("button")].indexOf(document.activeElement);
    draw();
    if (focused >= 0) list.querySelectorAll("button")[focused].focus();
  };
  return { box: make("div", {}, hint, list, keep), paint };
}
