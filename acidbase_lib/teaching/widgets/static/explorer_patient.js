// A case that runs on: native buttons; the picture and its words come from the library.

function render({ model, el }) {
  const { uid, renamed } = namesOf(model);
  const spoken = speaker();
  el.classList.add("ab", "ab-explorer");
  const group = make("div", {
    role: "group", class: "ab-explorer-group", "aria-label": model.get("title"),
  });
  const picker = make("select", { id: `${uid}-case` });
  const story = make("p", { class: "ab-course-story" });
  const path = make("ol", { class: "ab-course-path" });
  const asks = make("p", { class: "ab-course-asks", id: `${uid}-asks` });
  const choices = make("div", {
    class: "ab-course-choices", role: "group", "aria-labelledby": `${uid}-asks`,
  });
  const back = make("button", { type: "button", text: "One step back" });
  const again = make("button", { type: "button", text: "Start again" });
  const picture = make("div", { class: "ab-picture" });
  const sentence = make("p", { class: "ab-sentence", tabindex: "-1" });
  const how = make("p", { class: "ab-quiet" });
  const caution = make("p", { class: "ab-quiet ab-caution" });

  const go = (turn) => { model.set("turn", turn); model.save_changes(); };
  const steps = () => model.get("shown").path;
  const at = () => model.get("shown").case;
  // Two quick presses are two steps, though the kernel has not answered the first one yet.
  const goBack = () => go({ ...model.get("turn"), path: model.get("turn").path.slice(0, -1) });
  model.get("shown").cases.forEach((name, place) => {
    picker.append(make("option", { value: place, text: name }));
  });
  picker.addEventListener("change", () => go({ case: Number(picker.value), path: [] }));
  back.addEventListener("click", goBack);
  again.addEventListener("click", () => go({ case: at(), path: [] }));

  const draw = () => {
    const shown = model.get("shown");
    // The buttons are made anew: a keyboard that stood on one goes on from what has come of it,
    // which stands just above the next question. Elsewhere the change is said.
    const inside = choices.contains(document.activeElement);
    const onBack = [back, again].includes(document.activeElement);
    picker.value = String(shown.case);
    story.textContent = shown.story;
    path.replaceChildren(...shown.taken.map((step) => make("li", {},
      make("strong", { text: `${step.time} ${step.label}.` }),
      make("span", { class: "ab-quiet", text: ` ${step.says}` }))));
    asks.textContent = shown.asks;
    choices.replaceChildren(...shown.choices.map((label, place) => {
      const button = make("button", { type: "button", text: label });
      button.addEventListener("click", () => go({ case: at(), path: [...steps(), place] }));
      return button;
    }));
    back.disabled = again.disabled = shown.path.length === 0;
    picture.innerHTML = renamed(shown.svg);
    sentence.textContent = shown.sentence;
    how.textContent = shown.how;
    caution.textContent = shown.caution;
    if (inside || (onBack && back.disabled)) {
      sentence.focus();
      spoken.skip(shown.sentence);
    } else {
      spoken.tell(shown.sentence);
    }
  };
  model.on("change:shown", draw);
  group.append(
    make("div", { class: "ab-explorer-set" },
      make("label", { for: `${uid}-case`, text: "Patient " }), picker, story, path, sentence, asks,
      choices,
      make("div", { class: "ab-course-back" }, back, again)),
    picture,
    make("div", { class: "ab-explorer-said" }, spoken.region, how, caution));
  el.replaceChildren(group);
  draw();
  return () => { spoken.stop(); model.off("change:shown", draw); };
}

export default { initialize: drawInPlace(render), render };
