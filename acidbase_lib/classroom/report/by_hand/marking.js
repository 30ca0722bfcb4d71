// Written answers on one screen. placed.js stands before this file.

function render({ model, el }) {
  const id = (name) => `${model.get("place")}-${name}`;
  const wish = (content) => {
    said.textContent = "…";
    model.set("wish", { ...content, n: Math.random() });
    model.save_changes();
  };
  const press = (label, onclick, look = "") => make("button", { type: "button", class: `ab-mark-press ${look}`, onclick }, label);

  const heading = make("h2", { tabindex: "-1" });
  const place = make("p", {});
  const prompt = make("div", {});
  const asked = make("details", {}, make("summary", {}, "The question"), prompt);
  const text = make("blockquote", { class: "ab-mark-text", "aria-label": "The answer" });
  const ticks = make("fieldset", { class: "ab-mark-ticks" });
  const points = make("input", { type: "text", inputmode: "decimal", id: id("points"), autocomplete: "off" });
  const most = make("span", {});
  const comment = make("textarea", { id: id("comment"), rows: "3" });
  const used = make("select", { id: id("used"), class: "ab-mark-press" });
  const again = make("p", { class: "ab-mark-row" }, make("label", { for: used.id }, "Comments used before"), used,
    press("Add it", () => {
      if (!used.value) return;
      comment.value = [comment.value.trim(), used.value].filter(Boolean).join("\n");
      comment.focus();
    }));
  const said = make("p", { role: "status", class: "ab-mark-said" });
  const person = make("input", { type: "checkbox", id: id("person"), onchange: () => wish({ kind: "order", "by person": person.checked }) });
  const boxes = () => [...ticks.querySelectorAll("input")];
  let own = false; // points were typed, not counted from the ticks

  const keep = () => {
    const on = boxes().filter((box) => box.checked).map((box) => box.value);
    const told = model.get("shown");
    const same = on.join() === told.ticked.join();
    wish({
      kind: "keep", row: told.row, points: own || !told.ticks.length ? points.value : same ? told.points : "",
      ticks: same ? "" : on.join(" ") || "0", comment: comment.value,
      "points so far": told["points so far"], "comment so far": told["comment so far"],
    });
  };
  const count = () => {
    const share = boxes().filter((box) => box.checked).length / Math.max(1, boxes().length);
    if (!own) points.value = String(Math.round(share * model.get("shown").most * 100) / 100);
  };
  points.addEventListener("input", () => { own = points.value.trim() !== ""; });

  const paint = () => {
    const told = model.get("shown");
    own = false;
    heading.textContent = told.heading;
    place.textContent = `${told.place} ${told.state}`;
    prompt.innerHTML = told.prompt; // made by the kit, raw HTML in it escaped
    asked.hidden = !told.prompt;
    text.textContent = told.text;
    ticks.replaceChildren(make("legend", {}, "What you find in it"), ...told.ticks.map((tick, index) => {
      const box = make("input", { type: "checkbox", value: String(index + 1), id: id(`tick-${index + 1}`), onchange: count });
      box.checked = told.ticked.includes(index + 1);
      return make("p", {}, box, make("label", { for: box.id }, `${index + 1}. ${tick}`));
    }));
    ticks.hidden = !told.ticks.length;
    points.value = told.points;
    most.textContent = `of ${told.most}`;
    comment.value = told.comment;
    used.replaceChildren(...told.used.map((words) => make("option", { value: words }, words.length > 80 ? `${words.slice(0, 77)}…` : words)));
    again.hidden = !told.used.length;
    person.checked = told["by person"];
    said.textContent = told.said;
  };
  // A digit ticks, wherever nothing is being typed; Ctrl+Enter keeps and goes on, from everywhere.
  const keys = (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      event.stopPropagation();
      keep();
    } else if (/^[1-9]$/.test(event.key) && !event.ctrlKey && !event.altKey && !event.metaKey
        && !event.target.matches("textarea, select, input[type=text]")) {
      boxes()[Number(event.key) - 1]?.click();
    }
  };
  const changed = () => {
    const before = heading.textContent;
    paint();
    if (heading.textContent !== before) heading.focus();
  };

  el.classList.add("ab", "ab-mark");
  el.addEventListener("keydown", keys);
  el.append(heading, place, asked, text, ticks,
    make("p", { class: "ab-mark-row" }, make("label", { for: points.id }, "Points"), points, most),
    make("p", {}, make("label", { for: comment.id }, "Comment, as the learner reads it"), comment), again,
    make("p", { class: "ab-mark-row" }, press("Keep, and go on", keep, "ab-mark-go"),
      press("Back", () => wish({ kind: "go", by: -1 })), press("Forward", () => wish({ kind: "go", by: 1 })),
      press("Next that waits", () => wish({ kind: "next waiting" }))),
    said,
    make("p", { class: "ab-mark-row" }, person, make("label", { for: person.id }, "A person's answers one after another")),
    make("p", { class: "ab-quiet" }, "Keys: a digit ticks, Ctrl+Enter keeps and goes on. Kept at once, in the gradebook."),
    make("p", { class: "ab-quiet" }, model.get("shown").caution));
  paint();
  model.on("change:shown", changed);
  return () => model.off("change:shown", changed);
}

export default { initialize: drawInPlace(render), render };
