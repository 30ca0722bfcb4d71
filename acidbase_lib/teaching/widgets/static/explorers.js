// Native sliders and number boxes; the picture and its sentence come from the library.

function controlRow(control, uid, move) {
  const id = `${uid}-${control.key}`;
  const named = control.unit ? `${control.label}, ${control.unit}` : control.label;
  const limits = { min: control.low, max: control.high, step: control.step };
  const slider = make("input", { type: "range", id, ...limits });
  const box = make("input", {
    type: "number", ...limits, inputmode: "decimal",
    "aria-label": `${named}, typed`, "aria-describedby": `${uid}-problem`,
  });
  const digits = (String(control.step).split(".")[1] || "").length;
  const show = (value, keepBox) => {
    slider.value = value;
    slider.setAttribute("aria-valuetext", `${value.toFixed(digits)} ${control.unit}`.trim());
    if (!keepBox) box.value = value.toFixed(digits);
  };
  slider.addEventListener("input", () => {
    show(Number(slider.value));
    move(control.key, Number(slider.value));
  });
  box.addEventListener("input", () => {
    const value = box.value === "" ? null : Number(box.value);
    // A slider cannot stand where the picture does not go: it stays with the picture.
    if (value !== null && value >= control.low && value <= control.high) show(value, true);
    move(control.key, value);
  });
  const row = make("div", { class: "ab-move" },
    make("label", { for: id, text: control.label }), slider, box,
    make("span", { class: "ab-unit", "aria-hidden": "true", text: control.unit }));
  return { row, show, box };
}

function render({ model, el }) {
  const { uid, renamed } = namesOf(model);
  const spoken = speaker();
  el.classList.add("ab", "ab-explorer");
  const group = make("div", {
    role: "group", class: "ab-explorer-group", "aria-label": model.get("title"),
  });
  const picture = make("div", { class: "ab-picture" });
  const problem = make("p", { class: "ab-problem", id: `${uid}-problem`, role: "status" });
  const sentence = make("p", { class: "ab-sentence" });
  const follows = make("div", { class: "ab-follows" });
  const moves = make("div", { class: "ab-moves" });
  const presets = make("p", { class: "ab-presets" });

  const values = { ...model.get("values") };
  const set = (changes) => {
    Object.assign(values, changes);
    const keys = Object.keys(changes);
    model.set("moved", keys.length === 1 ? keys[0] : "");
    model.set("values", { ...values });
    model.set("turn", model.get("turn") + 1);
    model.save_changes();
  };
  const rows = {};
  for (const control of model.get("controls")) {
    rows[control.key] = controlRow(control, uid, (key, value) => set({ [key]: value }));
    moves.append(rows[control.key].row);
    rows[control.key].show(values[control.key]);
  }
  if (model.get("presets").length) presets.append(make("span", { text: "Start from: " }));
  for (const preset of model.get("presets")) {
    const button = make("button", { type: "button", text: preset.name });
    button.addEventListener("click", () => {
      for (const [key, value] of Object.entries(preset.values)) rows[key].show(value);
      set(preset.values);
    });
    presets.append(button);
  }

  const draw = () => {
    const shown = model.get("shown");
    problem.textContent = shown.problem;
    for (const [key, row] of Object.entries(rows)) {
      row.box.setAttribute("aria-invalid", String(shown.unusable.includes(key)));
    }
    picture.innerHTML = renamed(shown.svg);
    // Two controls may show one quantity: all but the one in hand follow the library's numbers.
    // A picture of an earlier move does not take back the move that came after it.
    const held = el.getRootNode().activeElement;
    const earlier = shown.turn !== model.get("turn");
    for (const [key, row] of Object.entries(rows)) {
      if (earlier || shown.problem || row.row.contains(held)) continue;
      if (shown.values[key] === values[key]) continue;
      values[key] = shown.values[key];
      row.show(values[key]);
    }
    follows.replaceChildren(...shown.follows.map((row) => make("p", {},
      make("strong", { text: `${row.label} ${row.text}` }),
      make("span", { class: "ab-quiet", text: ` ${row.why}` }))));
    sentence.textContent = shown.sentence;
    if (!shown.problem) {
      spoken.tell(shown.sentence, shown.follows.map((row) => `${row.label} ${row.text}.`).join(" "));
    }
  };
  model.on("change:shown", draw);
  group.append(
    make("div", { class: "ab-explorer-set" }, moves, follows, problem), presets, picture,
    make("div", { class: "ab-explorer-said" }, sentence, spoken.region,
      make("p", { class: "ab-quiet ab-caution", text: model.get("caution") })));
  el.replaceChildren(group);
  draw();
  return () => { spoken.stop(); model.off("change:shown", draw); };
}

export default { initialize: drawInPlace(render), render };
