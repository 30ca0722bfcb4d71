// The question desk on one screen. placed.js stands before this file.
//
// What is typed lives here, in `doc`: a slow kernel cannot take it away. Each change is kept in this
// browser at once and sent to the kernel after a pause, which keeps it as a draft in the folder.

const PAUSE = 700; // after the last key [ms]
const LETTERS = "ABCDEFGH";

function addressOf(model, path) {
  const config = document.getElementById("jupyter-config-data")?.textContent;
  const notebook = model.widget_manager?.context?.path;
  if (!config || notebook === undefined) return null;
  const place = notebook.replace(/^[^/]*:/, "").split("/").slice(0, -1).concat(path.split("/"));
  const notebooks = location.pathname.includes("/lab") ? "lab/tree" : "notebooks";
  return `${JSON.parse(config).baseUrl}${path.endsWith(".ipynb") ? notebooks : "files"}/${place.map(encodeURIComponent).join("/")}`;
}

function render({ model, el }) {
  const fixed = model.get("fixed");
  const told = () => model.get("shown");
  const id = (name) => `${model.get("place")}-${name}`;
  const memory = `acidbase question desk ${fixed.folder}`;
  const press = (label, onclick, look = "") => make("button", { type: "button", class: `ab-desk-press ${look}`, onclick: (event) => {
    const row = event.currentTarget.closest(".ab-desk-row");
    if (row?.isConnected && row.nextSibling !== said) row.after(said);
    if (said.textContent) said.textContent = "";
    return onclick(event);
  } }, label);

  // ---- what is written ----
  const bareOption = () => ({ text: "", right: false, because: "", suggests: "", place: "" });
  const bareQuestion = (number) => ({ raw: "", touched: true, as_text: false, fields: { name: String(number), kind: "one", stem: "",
    options: [bareOption(), bareOption(), bareOption()], number: "", unit: "", within: "", lines: "", model: "", looks: "",
    because: "", points: "", ranges: "", notes: "" } });
  const bareDoc = () => ({ unit: "", opened: "", at: 0, head: "", title: "", ranges: fixed.ranges, questions: [bareQuestion(1)], typed: {} });
  let { doc, stamp } = told();
  try {
    const kept = JSON.parse(localStorage.getItem(memory));
    if (kept?.doc?.questions && kept.stamp > stamp) ({ doc, stamp } = kept);
  } catch { /* this browser keeps nothing: the kernel's draft stands */ }
  if (!doc?.questions) doc = bareDoc();
  const part = () => doc.questions[doc.at];

  // ---- one wish at a time, each answered by what is shown with its number ----
  const queue = [];
  let asked = null;
  let waiting;
  const next = () => {
    if (asked || !queue.length) return;
    asked = queue.shift();
    const { done, make: content } = asked;
    asked = { ...content(), n: Math.random(), stamp, done };
    model.set("wish", { ...asked.wish, n: asked.n });
    model.save_changes();
  };
  // What is sent is what stands there when its turn comes.
  const wish = (content) => new Promise((done) => {
    queue.push({ make: () => ({ wish: content() }), done });
    next();
  });
  const keepNow = () => {
    clearTimeout(waiting);
    waiting = undefined;
    if (queue.some((one) => one.keeps)) return;
    queue.push({ keeps: true, make: () => ({ wish: { kind: "keep", doc: structuredClone(doc), stamp } }), done: () => {} });
    next();
  };
  const changed = () => {
    stamp = Date.now();
    try { localStorage.setItem(memory, JSON.stringify({ doc, stamp })); } catch { /* full or forbidden: the kernel keeps it */ }
    clearTimeout(waiting);
    waiting = setTimeout(keepNow, PAUSE);
  };

  // ---- fields ----
  const field = (label, input, name, wide = "") => {
    input.id = id(name);
    return make("div", { class: `ab-desk-field ${wide}` }, make("label", { for: input.id }, label), input);
  };
  const bound = (tag, holder, key, attributes = {}) => {
    const input = make(tag, { class: "ab-desk-input", autocomplete: "off", ...attributes, oninput: () => {
      holder()[key] = input.value;
      const now = part();
      if ([now, now.fields, ...now.fields.options].includes(holder())) now.touched = true;
      changed();
    } });
    input.value = holder()[key];
    return input;
  };
  const select = (options, value, onchange) => {
    const input = make("select", { class: "ab-desk-input", onchange: () => onchange(input.value) },
      ...options.map(([word, label]) => make("option", { value: word }, label)));
    input.value = value;
    return input;
  };
  const text = (label, key, more = {}) => { const now = part().fields; return field(label, bound("input", () => now, key, { type: "text", ...more }), key); };
  const area = (label, key) => { const now = part().fields; return field(label, bound("textarea", () => now, key), key, "ab-qdesk-wide"); };

  // ---- the unit ----
  const say = (sentence) => { if (said.textContent !== sentence) said.textContent = sentence; };
  const said = make("p", { role: "status", class: "ab-qdesk-said" }); // stands beside what was pressed last
  const kept = make("p", { role: "status", class: "ab-quiet" });
  const unitBox = make("div", {});
  let sure = "";
  function twice(button, word, question, act) { // what cannot be taken back is asked for twice
    if (sure !== word) {
      sure = word;
      button.textContent = question;
      say(`${question} Press once more.`);
      return;
    }
    sure = "";
    act();
  }
  function load(given) {
    doc = { typed: doc.typed, ...given };
    sure = "";
    paintAll();
    changed();
  }
  function paintUnit() {
    const units = told().units;
    const chosen = select([["", units.length ? "choose one" : "there is none yet"], ...units.map((one) => [one, one])], "", () => {});
    const written = () => doc.questions.some((one) => one.touched && (one.as_text || one.fields.stem.trim()));
    const open = press("Open it", () => {
      if (!chosen.value) return say("Choose a unit to open.");
      const act = async () => {
        const unit = chosen.value;
        const before = stamp;
        await wish(() => ({ kind: "open", unit }));
        if (!told().doc) return;
        if (stamp !== before) say("You went on typing, so the file was not opened. Press “Open it” again.");
        else load(told().doc);
      };
      return written() ? twice(open, "open", "Open it and leave what is on the screen?", act) : act();
    });
    const fresh = press("Begin a new unit", () => {
      const act = () => { load(bareDoc()); say("A new unit. Give it a name."); };
      return written() ? twice(fresh, "new", "Begin anew and leave what is on the screen?", act) : act();
    });
    unitBox.replaceChildren(
      field("A unit of yours that is there already", chosen, "open"), make("p", { class: "ab-desk-row" }, open, fresh),
      field("Name of this unit: small letters, digits and _, such as ward_round", bound("input", () => doc, "unit", { type: "text", spellcheck: "false", autocapitalize: "off" }), "unit-name"),
      field("Title, as learners see it (may stay empty)", bound("input", () => doc, "title", { type: "text" }), "title"),
      field("Ranges that learners are shown beside a gas", bound("input", () => doc, "ranges", { type: "text" }), "head-ranges"));
  }

  // ---- the question ----
  const listBox = make("div", {});
  const form = make("div", {});
  const firstWords = (one) => (one.as_text ? one.raw : one.fields.stem).replace(/\{[^}]*\}/g, "").trim().split(/\s+/).slice(0, 7).join(" ") || "(nothing written yet)";
  const goTo = (at) => { doc.at = at; sure = ""; paintAll(); changed(); };
  function paintList() {
    const list = select(doc.questions.map((one, at) => [String(at), `${at + 1}. ${firstWords(one)}`]), String(doc.at), (value) => {
      doc.at = Number(value);
      sure = "";
      paintForm();
      seen.replaceChildren();
      changed();
    });
    list.addEventListener("focus", () => { [...list.options].forEach((one, at) => { one.textContent = `${at + 1}. ${firstWords(doc.questions[at])}`; }); });
    const add = press("Add a question", () => {
      const last = Math.max(0, ...doc.questions.map((one) => Number(one.fields.name) || 0));
      doc.questions.push(bareQuestion(Math.max(last, doc.questions.length) + 1));
      goTo(doc.questions.length - 1);
      el.querySelector(`#${id("kind")}`).focus();
    });
    const away = press("Delete this question", () => twice(away, "delete", "Delete this question for good?", () => {
      doc.questions.splice(doc.at, 1);
      if (!doc.questions.length) doc.questions.push(bareQuestion(1));
      goTo(Math.min(doc.at, doc.questions.length - 1));
      el.querySelector(`#${id("which")}`).focus();
      say("The question is deleted from the screen; the file has it until you save.");
    }));
    listBox.replaceChildren(field(`Question, ${doc.questions.length} in this unit`, list, "which"), make("p", { class: "ab-desk-row" }, add, away));
  }

  const PICKED = { disorder: "metabolic acidosis", compensation: "partially compensated", severity: "moderate", when: "", story: true };
  const own = { ph: "", paco2: "", hco3: "" };
  function intoStem(words, old) {
    const stem = el.querySelector(`#${id("stem")}`);
    const now = part().fields;
    now.stem = old.test(now.stem) ? now.stem.replace(old, () => words) : words + (now.stem ? `\n${now.stem}` : "");
    stem.value = now.stem;
    part().touched = true;
    changed();
    say("It stands in the stem now.");
    stem.focus();
  }
  function patientBox() {
    const any = (words) => [["", "any"], ...words.map((one) => [one, one])];
    const story = make("input", { type: "checkbox", id: id("story"), onchange: () => { PICKED.story = story.checked; } });
    story.checked = PICKED.story;
    const number = (label, key, unit) => field(`${label}${unit}`, bound("input", () => own, key, { type: "text", inputmode: "decimal" }), `own-${key}`);
    const wished = () => {
      const words = [[PICKED.compensation, PICKED.disorder].filter(Boolean).join(" "), PICKED.severity, PICKED.when].filter(Boolean).join(", ");
      const gas = `{gas: ${words}}`;
      const now = part().fields.stem;
      const told_ = /\{\s*patient\s*\}/i.test(now);
      intoStem(PICKED.story && !told_ ? `{patient}\n${gas}` : gas, /\{\s*gas\s*:[^{}]*\}/i);
    };
    return make("details", {}, make("summary", {}, "A patient for this question"),
      make("p", {}, "The kit can draw a patient, another one in each form. Your answer must hold for all of them: five are drawn below."),
      make("div", { class: "ab-qdesk-few" },
        field("Disorder", select(fixed.disorders.map((one) => [one, one]), PICKED.disorder, (value) => { PICKED.disorder = value; }), "disorder"),
        field("Compensation", select(any(fixed.compensations), PICKED.compensation, (value) => { PICKED.compensation = value; }), "compensation"),
        field("How severe", select(any(fixed.severities), PICKED.severity, (value) => { PICKED.severity = value; }), "severity"),
        field("Since when", select(any(["acute", "chronic"]), PICKED.when, (value) => { PICKED.when = value; }), "when")),
      make("p", { class: "ab-qdesk-tick" }, story, make("label", { for: story.id }, "With a short story of the patient")),
      make("p", { class: "ab-desk-row" }, press("Put a drawn patient into the stem", wished)),
      make("p", {}, "Or write a gas of your own, the same for everybody:"),
      make("div", { class: "ab-qdesk-few" }, number("pH", "ph", ""), number("PaCO2", "paco2", " in mmHg"), number("Bicarbonate", "hco3", " in mmol/L")),
      make("p", { class: "ab-desk-row" }, press("Put these numbers into the stem", () => {
        if (!own.ph || !own.paco2 || !own.hco3) return say("Write all three numbers first.");
        return intoStem(`pH ${own.ph}, PaCO2 ${own.paco2} mmHg, HCO3 ${own.hco3} mmol/L`, /pH [\d.]+, PaCO2 [\d.]+ mmHg, HCO3 [\d.]+ mmol\/L|\{\s*gas\s*:[^{}]*\}/i);
      })));
  }

  function optionBox(option, at, kind) {
    const letter = LETTERS[at];
    const box = make("fieldset", {}, make("legend", {}, `Option ${letter}`));
    box.append(field("Words", bound("input", () => option, "text", { type: "text" }), `option-${at}`, "ab-qdesk-wide"));
    if (kind === "order") box.append(field("Its place, 1 for the first", bound("input", () => option, "place", { type: "text", inputmode: "numeric" }), `place-${at}`));
    else {
      const right = make("input", { type: "checkbox", id: id(`right-${at}`), onchange: () => {
        option.right = right.checked;
        part().touched = true;
        ideas.hidden = option.right;
        changed();
      } });
      right.checked = option.right;
      const known = fixed.ideas.find(([key, name]) => [key, name].some((one) => one.toLowerCase() === option.suggests.toLowerCase()));
      const others = option.suggests && !known ? [[option.suggests, option.suggests]] : [];
      const ideas = field("The idea that it shows, if it is wrong", select([["", "none, or I do not know"], ...others, ...fixed.ideas],
        known ? known[0] : option.suggests, (value) => { option.suggests = value; part().touched = true; changed(); }), `idea-${at}`);
      ideas.hidden = option.right;
      box.append(make("p", { class: "ab-qdesk-tick" }, right, make("label", { for: right.id }, `${letter} is right`)),
        field("A reason, for whoever chooses it", bound("textarea", () => option, "because", { rows: "2" }), `because-${at}`, "ab-qdesk-wide"), ideas);
    }
    return box;
  }

  const HOW = {
    one: "Tick the one option that is right.", all: "Tick every option that is right, two at least.",
    order: "Give each option its place, 1 for the first.", number: "A number: the key stays the same in each form, so write the gas yourself.",
    lines: "One line for each answer. Mark the right choice with (right): pH = low (right) / normal / high",
    written: "Your model answer, and one line for each thing that a reader looks for. You mark it yourself, names hidden.",
  };
  let paintBody = () => {};
  function paintForm() {
    const now = part();
    if (now.as_text) {
      form.replaceChildren(make("p", {}, "This question is written in a way that the form does not hold. Change its text here."),
        field("The question as text", bound("textarea", () => now, "raw"), "raw", "ab-qdesk-wide"));
      return;
    }
    const { fields } = now;
    const kind = field("Kind of question", select(fixed.kinds, fields.kind, (value) => {
      fields.kind = value;
      now.touched = true;
      if (["one", "all", "order"].includes(value) && !fields.options.length) fields.options = [bareOption(), bareOption(), bareOption()];
      paintBody();
      changed();
    }), "kind");
    const body = make("div", {});
    paintBody = () => body.replaceChildren(...bodyOf(now));
    paintBody();
    form.replaceChildren(kind, body);
  }
  // The list of kinds stays where it is while the rest changes: a key typed in it goes on with the last.
  function bodyOf(now) {
    const { fields } = now;
    const rows = [make("p", { class: "ab-quiet" }, HOW[fields.kind])];
    if (!fields.stem.trim()) {
      rows.push(make("p", { class: "ab-desk-row" }, press("Begin with an example of this kind", () => {
        Object.assign(fields, structuredClone(fixed.starts[fields.kind]), { name: fields.name });
        now.touched = true;
        paintBody();
        changed();
        el.querySelector(`#${id("stem")}`).focus();
      })));
    }
    rows.push(patientBox(), area("The stem: what the learner reads", "stem"));
    if (["one", "all", "order"].includes(fields.kind)) {
      rows.push(...fields.options.map((option, at) => optionBox(option, at, fields.kind)));
      rows.push(make("p", { class: "ab-desk-row" }, press("Add an option", () => {
        if (fields.options.length >= LETTERS.length) return say("A question has at most 8 options.");
        fields.options.push(bareOption());
        now.touched = true;
        paintBody();
        changed();
        return el.querySelector(`#${id(`option-${fields.options.length - 1}`)}`).focus();
      }), make("span", { class: "ab-quiet" }, "An option without words is left out.")));
    } else if (fields.kind === "number") {
      rows.push(make("div", { class: "ab-qdesk-few" }, text("The right number", "number", { inputmode: "decimal" }), text("Unit, such as mmol/L (may stay empty)", "unit"),
        text("How far off still counts (may stay empty)", "within", { inputmode: "decimal" })));
    } else if (fields.kind === "lines") rows.push(area("The lines, one each: pH = low (right) / normal / high", "lines"));
    else rows.push(area("Your model answer", "model"), area("What a reader looks for, one thing a line", "looks"));
    rows.push(area("Why the answer is right, as learners read it", "because"),
      make("details", {}, make("summary", {}, "Points, and notes to yourself"), text("Points (empty: as is usual for the kind)", "points", { inputmode: "decimal" }),
        text("Ranges for this question alone (may stay empty)", "ranges"), area("Notes to yourself; no learner reads them", "notes")));
    return rows;
  }

  // ---- what there is to see of it ----
  const seen = make("div", { role: "region", "aria-label": "What this question looks like", tabindex: "-1" });
  function paintLook(look) {
    if (!look || look.at !== doc.at) return;
    const rows = [make("h3", {}, "What this question looks like")];
    if (look.needs) rows.push(make("p", {}, `Not whole yet: ${look.needs}`));
    if (look.faults?.length) rows.push(make("p", {}, "Learners cannot be asked this yet:"), make("ul", {}, ...look.faults.map((one) => make("li", {}, one))));
    if (look.doubts?.length) {
      rows.push(make("h4", {}, "What the question writer's check doubts"), make("ul", {}, ...look.doubts.map((one) => make("li", {},
        make("strong", {}, `${one.weight[0].toUpperCase()}${one.weight.slice(1)}: `), one.says, one.mend ? ` Mend: ${one.mend}` : "", one.of ? ` (${one.of})` : ""))));
    }
    if (look.nothing) rows.push(make("p", {}, look.nothing));
    if (look.same) rows.push(make("p", { class: "ab-quiet" }, look.same));
    (look.examples ?? []).forEach((one, at, all) => rows.push(make("section", { class: "ab-qdesk-example" },
      make("h4", {}, all.length > 1 ? `Drawn patient ${at + 1} of ${all.length}` : "As it is asked"),
      make("p", { class: "ab-qdesk-stem" }, one.stem),
      make("ul", {}, ...one.answers.map((answer) => make("li", {}, `${answer.letter}. ${answer.text} `, answer.right ? make("strong", {}, "Right. ") : "", make("div", {}, answer.says)))),
      make("p", {}, make("strong", {}, "Key: "), one.key))));
    seen.replaceChildren(...rows);
  }

  // ---- what is done with it ----
  const links = make("ul", { class: "ab-desk-links", "aria-label": "What was written" });
  const over = press("Replace the file", () => save(true));
  over.hidden = true;
  async function save(replaces = false) {
    const before = stamp;
    say("Saving …");
    await wish(() => ({ kind: "save", doc: structuredClone(doc), over: replaces }));
    const all = told();
    const hadFocus = document.activeElement === over;
    over.hidden = !all.in_the_way;
    if (hadFocus && over.hidden) saving.focus();
    if (!all.opened) return;
    doc.opened = all.opened;
    if (stamp !== before) say(`${all.said} You went on typing since: save again.`);
    changed();
    paintUnits();
  }
  const saving = press("Save to the school's folder", () => save(), "ab-desk-go");
  const working = (kind) => async () => { say("Working …"); await wish(() => ({ kind, doc: structuredClone(doc) })); };
  const paintUnits = () => {
    const list = el.querySelector(`#${id("open")}`);
    const now = [...list.options].slice(1).map((one) => one.value);
    if (JSON.stringify(now) !== JSON.stringify(told().units)) paintUnit();
  };

  // ---- the school's ranges ----
  const rangeBox = make("div", {});
  const changes = make("ul", { "aria-label": "What would change" });
  function paintRanges() {
    doc.typed ??= {};
    const values = {};
    const inputOf = (row, at) => {
      const kept = doc.typed[row.key] ?? row.values;
      values[row.key] ??= [...kept];
      const take = (value) => {
        values[row.key][at] = value;
        doc.typed[row.key] = [...values[row.key]];
        changed();
      };
      if (row.choices.length) return select(row.choices.map((one) => [one, one]), kept[at], take);
      const input = make("input", { class: "ab-desk-input", type: "text", inputmode: "decimal", autocomplete: "off", oninput: () => take(input.value) });
      input.value = kept[at];
      return input;
    };
    const rows = told().rows.map((row) => make("fieldset", {}, make("legend", {}, row.label), make("p", { class: "ab-quiet" }, `The kit: ${row.kit}`),
      make("div", { class: "ab-qdesk-few" }, ...(row.choices.length ? [field(`${row.label}: yours`, inputOf(row, 0), `range-${row.key}`)]
        : ["low", "high"].map((end, at) => field(`${row.label}: yours, ${end}`, inputOf(row, at), `range-${row.key}-${end}`))))));
    const send = (keeps) => async () => {
      say("Working …");
      await wish(() => ({ kind: "ranges", values, save: keeps }));
      const all = told();
      changes.replaceChildren(...(all.changes ?? []).map((one) => make("li", {}, one)));
      if (all.ranges_saved) { doc.typed = {}; changed(); }
    };
    rangeBox.replaceChildren(make("p", {}, "Your laboratory's ranges beside the kit's. Pressures are in mmHg. See first what would change in the course."),
      ...rows, make("p", { class: "ab-desk-row" }, press("See what would change", send(false)), press("Save these ranges", send(true), "ab-desk-go")), changes);
  }

  const paintAll = () => { paintUnit(); paintList(); paintForm(); seen.replaceChildren(); };
  const answered = () => {
    const all = told();
    if (!asked || all.n !== asked.n) return;
    const one = asked;
    asked = null;
    if (all.said) say(all.said);
    else if (all.look && !waiting) {
      const { look } = all;
      const drawn = look.examples?.length ?? 0;
      kept.textContent = (look.needs ? "Your draft is kept. The question is not whole yet." : look.faults?.length ? "Your draft is kept. See what learners cannot be asked yet."
        : `Your draft is kept. ${drawn === 1 ? "One example" : `${drawn} examples`}; ${look.doubts.length === 1 ? "one doubt" : `${look.doubts.length || "no"} doubts`}.`);
    }
    // An answer about what was written earlier says nothing of what stands there now.
    if (all.look && one.stamp === stamp) paintLook(all.look);
    if (all.links) {
      links.replaceChildren(...all.links.map(([label, path]) => {
        const address = addressOf(model, path);
        return make("li", {}, address ? make("a", { href: address, target: "_blank", rel: "noopener" }, label) : label, make("span", { class: "ab-quiet" }, ` ${path}`));
      }));
    }
    one.done();
    next();
  };

  el.classList.add("ab", "ab-desk", "ab-qdesk");
  const panel = (heading, open, ...inside) => {
    const node = make("details", { class: "ab-desk-panel" }, make("summary", {}, make("h3", {}, heading)), ...inside);
    node.open = open;
    return node;
  };
  el.append(make("h2", {}, "The question desk"),
    make("p", { class: "ab-quiet" }, `${fixed.school}: ${fixed.folder}. What you type is kept as a draft at once; learners get it only after you save and hand it out.`),
    panel("The unit", true, unitBox), panel("The question", true, listBox, form,
      make("p", { class: "ab-desk-row" }, press("Look at this question", () => { keepNow(); seen.focus(); })), kept, seen),
    panel("Save, try and print", true, make("p", { class: "ab-desk-row" }, saving, over,
      press("See it as a learner would", working("try")), press("Print a worksheet", working("print"))), links),
    panel("Your school's ranges", false, rangeBox), make("p", { class: "ab-quiet" }, fixed.caution));
  listBox.after(said);
  paintAll();
  paintRanges();
  if (told().said) say(told().said);
  model.on("change:shown", answered);
  keepNow();
  return () => {
    clearTimeout(waiting);
    model.off("change:shown", answered);
  };
}

export default { initialize: drawInPlace(render), render };
