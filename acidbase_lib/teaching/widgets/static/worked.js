// A worked reading: a line at each press; where a line is a blank, it is filled first.

let worksSoFar = 0;

function workedTable(view) {
  const head = make("tr", {}, ...view.columns.map((name) => make("th", { scope: "col", text: name })));
  const rows = view.rows.map(([name, ...cells]) => make("tr", {},
    make("th", { scope: "row", text: name }), ...cells.map((cell) => make("td", { text: cell }))));
  return make("div", { class: "ab-scroll", role: "group", tabindex: "0", "aria-label": view.patient },
    make("table", {}, make("caption", { text: "Arterial blood gas" }),
      make("thead", {}, head), make("tbody", {}, ...rows)));
}

function render({ model, el }) {
  const name = `ab-worked-${model.get("place")}-${++worksSoFar}`;
  el.classList.add("ab", "ab-chart", "ab-practice");

  const draw = (focus) => {
    const view = model.get("view");
    const title = make("h3", { text: view.title });
    const patient = make("p", { tabindex: "-1", text: view.patient });
    const steps = view.said.map((line) => make("li", { tabindex: "-1", text: line }));
    const hint = make("p", { class: "ab-chart-status", role: "status" });
    const form = make("form", { novalidate: "", "aria-label": view.title }, title, patient,
      workedTable(view), make("ol", {}, ...steps));
    if (view.choices.length) {
      form.append(make("fieldset", { class: "ab-chart-field" },
        make("legend", { class: "ab-chart-name", text: view.asks }),
        make("div", { class: "ab-chart-options" }, ...view.choices.map((word) =>
          make("label", { class: "ab-chart-option" },
            make("input", { type: "radio", name, value: word }), make("span", { text: word }))))));
    } else if (view.asks) {
      form.append(make("p", { class: "ab-chart-name", text: view.asks }));
    }
    form.append(make("div", { class: "ab-chart-foot" },
      make("button", { class: "ab-chart-button ab-practice-go", type: "submit", text: view.button }),
      hint), make("p", { class: "ab-quiet ab-practice-caution", text: view.caution }));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const chosen = form.querySelector("input:checked");
      if (view.choices.length && !chosen) { hint.textContent = "Choose one answer first."; return; }
      model.send({ want: view.want, choice: chosen ? chosen.value : "" });
    });
    el.replaceChildren(form);
    if (focus) (steps.length ? steps[steps.length - 1] : patient).focus();
  };
  const redraw = () => draw(el.contains(document.activeElement));
  model.on("change:view", redraw);
  draw(false);
  return () => model.off("change:view", redraw);
}

export default { initialize: drawInPlace(render), render };
