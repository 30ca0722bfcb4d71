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

// The lines of a whole gas, each with words of its own.
function chartLines(view, name) {
  return view.lines.map((line, place) => make("fieldset", { class: "ab-chart-field" },
    make("legend", { class: "ab-chart-name", text: line.name }),
    make("div", { class: `ab-chart-options${line.words.length > 4 ? " ab-chart-long" : ""}` },
      ...line.words.map((word) => {
        const input = make("input", { type: "radio", name: `${name}-${place}`, value: word, "data-line": line.name });
        if (word === line.chosen) input.checked = true;
        input.disabled = view.answered;
        return make("label", { class: "ab-chart-option" }, input, make("span", { text: word }));
      }))));
}

// Line by line, once locked: yours, the right word, and why.
function markedLines(view) {
  return make("ol", { class: "ab-practice-lines" }, ...view.marked.map((row) => make("li", {},
    make("strong", { text: `${row.line}: ${row.right ? "right" : "not right"}. ` }),
    row.right ? `You wrote ${row.yours}. ` : `You wrote ${row.yours}. It is ${row.key}. `,
    make("span", { text: row.rule }),
    ...(row.falls ? [make("p", { class: "ab-practice-note", text: `Why not ${row.yours}: ${row.falls}` })] : []))));
}

function reasons(view) {
  const verdict = make("h3", { tabindex: "-1", class: "ab-practice-verdict", text: view.verdict });
  if (view.marked) return make("div", { class: "ab-practice-why" }, verdict, markedLines(view));
  return make("div", { class: "ab-practice-why" }, verdict,
    ...view.notes.map((note) => make("p", { class: "ab-practice-note", text: note })),
    make("p", { text: "Step by step:" }),
    make("ol", {}, ...view.why.map((step) => make("li", { text: step }))));
}

function render({ model, el }) {
  const { uid: name } = namesOf(model);
  el.classList.add("ab", "ab-chart", "ab-practice");

  const draw = (focus) => {
    const view = model.get("view");
    if (view.ended) {
      const end = make("h3", { tabindex: "-1", text: view.title });
      el.replaceChildren(end, ...view.notes.filter(Boolean).map((note) => make("p", { text: note })),
        ...(view.next ? [make("p", {}, make("button", { class: "ab-chart-button", type: "button", text: view.next, onclick: () => model.send({ want: "next" }) }))] : []),
        make("p", { class: "ab-quiet ab-practice-caution", text: view.caution }));
      if (focus) end.focus();
      return;
    }
    const hint = make("p", { class: "ab-chart-status", role: "status" });
    const sure = !view.answered && view.sure ? view.sure : [""];
    const go = view.go ?? "Answer";
    const buttons = sure.map((word) => make("button", {
      class: "ab-chart-button ab-practice-go", type: "submit", value: word,
      text: view.answered ? view.next : word ? `${go}: ${word}` : go,
    }));
    const title = make("h3", { tabindex: "-1", text: view.title });
    const form = make("form", { novalidate: "" }, title,
      ...(view.why_now ? [make("p", { class: "ab-practice-note", text: view.why_now })] : []),
      make("p", { class: "ab-quiet", text: view.step }), make("p", { text: view.patient }));
    if (view.rows.length) form.append(gasTable(view));
    if (view.lines) {
      form.append(make("p", { class: "ab-chart-name", text: view.question }), ...chartLines(view, name));
    } else {
      form.append(make("fieldset", { class: "ab-chart-field" },
        make("legend", { class: "ab-chart-name", text: view.question }),
        make("div", { class: `ab-chart-options${view.long ? " ab-chart-long" : ""}` },
          ...options(view, name))));
    }
    if (view.answered) form.append(reasons(view));
    if (sure.length > 1) form.append(make("p", { class: "ab-quiet", text: "How sure are you? Choose the button that fits." }));
    if (view.warning) form.append(make("p", { class: "ab-practice-note", text: view.warning }));
    form.append(make("div", { class: "ab-chart-foot" }, ...buttons, hint),
      make("p", { class: "ab-quiet", text: view.progress }),
      make("p", { class: "ab-quiet ab-practice-caution", text: view.caution }));
    form.addEventListener("change", () => { hint.textContent = ""; });
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (view.answered) { model.send({ want: "next" }); return; }
      const say = event.submitter?.value ?? "";
      const chosen = [...form.querySelectorAll("input:checked")];
      if (chosen.length < (view.lines ?? [0]).length) {
        hint.textContent = view.lines ? `Choose a word on every line first: ${view.lines.length - chosen.length} left.` : "Choose one answer first.";
        return;
      }
      if (view.lines) {
        model.send({ want: "answer", sure: say, lines: Object.fromEntries(chosen.map((one) => [one.dataset.line, one.value])) });
      } else {
        model.send({ want: "answer", sure: say, choice: chosen[0].value });
      }
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
