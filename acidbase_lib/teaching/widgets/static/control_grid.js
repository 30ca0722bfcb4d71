// A grid too large for a thumb, one row at a time: its answers so far, and the choices of one row.

function isGrid(fields) {
  const words = (field) => field.choices.map((choice) => choice.word).join("|");
  return fields.length > 3 && fields.every((field) => field.kind === "one" && !isShort(field)
    && words(field) === words(fields[0]));
}

function rowByRow(fields, parts, title) {
  const place = make("p", { class: "ab-quiet" });
  const turn = (step, text) => make("button", { type: "button", class: "ab-chart-button",
    onclick: () => show(now + step) }, text,
    make("span", { class: "ab-chart-unseen" }, ` (${title.toLowerCase()})`));
  const [back, next] = [turn(-1, inWords("Back")), turn(1, inWords("Next"))];
  const given = fields.map(() => make("span", { class: "ab-chart-given" }));
  const rows = fields.map((field, i) => make("button", { type: "button", class: "ab-chart-button",
    onclick: () => show(i) }, make("span", {}, field.name), given[i]));
  let now = 0;
  const show = (i, focus = true) => {
    now = i;
    fields.forEach((field, n) => {
      parts.get(field.name).frame.hidden = n !== i;
      rows[n].setAttribute("aria-current", n === i ? "step" : "false");
    });
    place.textContent = inWords("{n} of {all}", { n: i + 1, all: fields.length });
    back.disabled = i === 0;
    next.disabled = i === fields.length - 1;
    if (focus) parts.get(fields[i].name).focus();
  };
  const paint = (textOf) => fields.forEach((field, i) => {
    const text = textOf(field);
    given[i].textContent = text || inWords("no answer yet");
    given[i].classList.toggle("ab-quiet", !text);
  });
  show(0, false);
  const box = make("div", { class: "ab-chart-rows" },
    make("ol", { "aria-label": inWords("{title}: your answers", { title }) }, ...rows.map((row) => make("li", {}, row))),
    make("div", {}, ...fields.map((field) => parts.get(field.name).frame),
      make("div", { class: "ab-chart-turn" }, back, place, next)));
  return { box, paint };
}
