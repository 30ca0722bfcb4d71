// One patient at a time: native radio buttons, an answer, the reasons, the next patient.

function gasTable(view) {
  const head = make("tr", {}, ...view.columns.map((name, place) => make("th", {
    scope: "col", class: place ? "ab-number" : "", text: name,
  })));
  const rows = view.rows.map(([name, ...cells]) => make("tr", {},
    make("th", { scope: "row", text: name }),
    ...cells.map((cell) => make("td", { class: "ab-number", text: cell }))));
  // The box takes the keyboard's focus, so that a narrow screen can scroll it without a mouse.
  return make("div", { class: "ab-scroll", role: "group", tabindex: "0", "aria-label": view.caption },
    make("table", {}, make("caption", { text: view.caption }),
      make("thead", {}, head), make("tbody", {}, ...rows)));
}

function options(view, name) {
  return view.choices.map((choice) => {
    const input = make("input", { type: "radio", name, value: choice.word });
    if (choice.word === view.chosen) input.checked = true;
    input.disabled = view.answered;
    const label = make("label", { class: "ab-chart-option" }, input,
      make("span", { text: choice.text }));
    if (choice.said) label.append(make("strong", { class: "ab-practice-said", text: choice.said }));
    return label;
  });
}

function reasons(view) {
  return make("div", { class: "ab-practice-why" },
    make("h3", { tabindex: "-1", class: "ab-practice-verdict", text: view.verdict }),
    ...view.notes.map((note) => make("p", { class: "ab-practice-note", text: note })),
    make("p", { text: "Step by step:" }),
    make("ol", {}, ...view.why.map((step) => make("li", { text: step }))));
}

function render({ model, el }) {
  const { uid: name } = namesOf(model);
  el.classList.add("ab", "ab-chart", "ab-practice");

  const draw = (focus) => {
    const view = model.get("view");
    const hint = make("p", { class: "ab-chart-status", role: "status" });
    const button = make("button", {
      class: "ab-chart-button ab-practice-go", type: "submit",
      text: view.answered ? view.next : "Answer",
    });
    const title = make("h3", { tabindex: "-1", text: view.title });
    const form = make("form", { novalidate: "" }, title,
      make("p", { class: "ab-quiet", text: view.step }), make("p", { text: view.patient }));
    if (view.rows.length) form.append(gasTable(view));
    form.append(make("fieldset", { class: "ab-chart-field" },
      make("legend", { class: "ab-chart-name", text: view.question }),
      make("div", { class: `ab-chart-options${view.long ? " ab-chart-long" : ""}` },
        ...options(view, name))));
    if (view.answered) form.append(reasons(view));
    form.append(make("div", { class: "ab-chart-foot" }, button, hint),
      make("p", { class: "ab-quiet", text: view.progress }),
      make("p", { class: "ab-quiet ab-practice-caution", text: view.caution }));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (view.answered) { model.send({ want: "next" }); return; }
      const chosen = form.querySelector("input:checked");
      if (!chosen) { hint.textContent = "Choose one answer first."; return; }
      model.send({ want: "answer", choice: chosen.value });
    });
    el.replaceChildren(form);
    if (focus) (view.answered ? form.querySelector(".ab-practice-verdict") : title).focus();
  };
  const redraw = () => draw(el.contains(document.activeElement));
  model.on("change:view", redraw);
  draw(false);
  return () => model.off("change:view", redraw);
}

export default { initialize: drawInPlace(render), render };
