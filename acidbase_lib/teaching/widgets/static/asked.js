// Questions one after another: native controls, an answer, what is right beside it, the next.

let askedSoFar = 0;

function askedBlock(block) {
  if (block.kind === "text") return make("p", { text: block.text });
  if (block.kind === "list") {
    return make("ul", {}, ...block.items.map((item) => make("li", { text: item })));
  }
  const head = make("tr", {}, ...block.head.map((name) => make("th", { scope: "col", text: name })));
  const rows = block.rows.map(([name, ...cells]) => make("tr", {},
    make("th", { scope: "row", text: name }), ...cells.map((cell) => make("td", { text: cell }))));
  return make("div", { class: "ab-scroll", role: "group", tabindex: "0", "aria-label": block.caption || "Results" },
    make("table", {}, make("caption", { text: block.caption || "Results" }), make("thead", {}, head), make("tbody", {}, ...rows)));
}

function askedField(field, name, place, view, kept) {
  const given = kept[field.name] ?? "";
  if (field.choices.length && field.kind !== "order") {
    const type = field.kind === "many" ? "checkbox" : "radio";
    const chosen = given.split(", ");
    return make("fieldset", { class: "ab-chart-field", "data-field": field.name },
      make("legend", { class: "ab-chart-name", text: field.name }),
      make("div", { class: `ab-chart-options${field.choices.some((c) => c.shown.length > 30) ? " ab-chart-long" : ""}` },
        ...field.choices.map((choice) => {
          const input = make("input", { type, name: `${name}-${place}`, value: choice.word });
          input.checked = chosen.includes(choice.word);
          input.disabled = view.answered;
          return make("label", { class: "ab-chart-option" }, input,
            make("span", { text: choice.shown }));
        })));
  }
  const id = `${name}-${place}`;
  const input = make("input", { class: "ab-chart-input", type: "text", id, value: given });
  input.disabled = view.answered;
  const hint = field.kind === "order" ? " (for example C > A > B)" : field.unit ? ` (${field.unit})` : "";
  return make("div", { class: "ab-chart-field", "data-field": field.name },
    make("label", { class: "ab-chart-name", for: id, text: field.name + hint }),
    ...(field.kind === "order"
      ? [make("ul", {}, ...field.choices.map((choice) => make("li", { text: choice.shown })))] : []),
    input);
}

function askedValues(form) {
  const values = {};
  for (const box of form.querySelectorAll("[data-field]")) {
    const text = box.querySelector("input[type=text]");
    values[box.dataset.field] = text ? text.value
      : [...box.querySelectorAll("input:checked")].map((input) => input.value).join(", ");
  }
  return values;
}

function render({ model, el }) {
  const name = `ab-asked-${model.get("place")}-${++askedSoFar}`;
  el.classList.add("ab", "ab-chart", "ab-practice");
  let kept = {};
  let turn = "";

  const draw = (focus) => {
    const view = model.get("view");
    if (view.turn !== turn) { kept = {}; turn = view.turn; }
    const title = make(`h${view.level}`, { tabindex: "-1", text: view.ended || view.before ? view.title : `${view.title}, ${view.count}` });
    const caution = make("p", { class: "ab-quiet ab-practice-caution", text: view.caution });
    if (view.ended) {
      el.replaceChildren(title, make("p", { text: view.says }), caution);
      if (focus) title.focus();
      return;
    }
    if (view.before) { // the unit's own questions come first: these are asked at a press
      const press = make("button", { class: "ab-chart-button ab-practice-go", type: "button", text: "Ask me",
        "aria-label": `Ask me: ${view.title}`, onclick: () => model.send({ want: "begin" }) });
      el.replaceChildren(title, make("p", { text: view.before }), make("div", { class: "ab-chart-foot" }, press));
      if (focus) press.focus();
      return;
    }
    const said = make("p", { class: "ab-chart-status", role: "status", tabindex: "-1", text: view.problem });
    const form = make("form", { novalidate: "", "aria-label": view.heading }, title,
      make("p", { class: "ab-quiet", text: view.heading }));
    if (view.note) form.append(make("p", { class: "ab-practice-note", text: view.note }));
    form.append(...view.blocks.map(askedBlock),
      ...view.fields.map((field, place) => askedField(field, name, place, view, kept)));
    if (view.answered) {
      form.append(make("div", { class: "ab-practice-why" },
        make(`h${view.level + 1}`, { tabindex: "-1", class: "ab-practice-verdict", text: view.verdict }),
        ...view.lines.map((line) => make("p", { class: "ab-practice-note", text: line })),
        make("p", { text: "Step by step:" }),
        make("ol", {}, ...view.reading.map((step) => make("li", { text: step })))));
    }
    const buttons = [make("button", { class: "ab-chart-button ab-practice-go", type: "submit",
      text: !view.answered ? "Check my answer" : view.last ? "Finish" : "Next question" })];
    if (view.answered && view.again) {
      buttons.push(make("button", { class: "ab-chart-button", type: "button", text: "Another twin",
        onclick: () => model.send({ want: "another" }) }));
    }
    if (!view.answered) {
      buttons.push(make("button", { class: "ab-chart-button", type: "button", text: "Leave this one",
        onclick: () => model.send({ want: "next" }) }));
    }
    form.append(make("div", { class: "ab-chart-foot" }, ...buttons, said), caution);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (view.answered) { model.send({ want: "next" }); return; }
      kept = askedValues(form);
      model.send({ want: "answer", values: kept });
    });
    el.replaceChildren(form);
    if (focus) (view.answered ? form.querySelector(".ab-practice-verdict") : view.problem ? said : title).focus();
  };
  const redraw = () => draw(el.contains(document.activeElement));
  model.on("change:view", redraw);
  draw(false);
  return () => model.off("change:view", redraw);
}

export default { initialize: drawInPlace(render), render };
