// The desk on one screen. placed.js stands before this file.

const PART = 512 * 1024; // bytes of a file that are sent at once
const LOOK = 400; // between two looks at what runs [ms]

// Where a file that lies beside the notebook is opened; null where the page cannot tell.
function addressOf(model, { path, folder }) {
  if (path.startsWith("/") || /^[A-Za-z]:/.test(path)) return null;
  const config = document.getElementById("jupyter-config-data")?.textContent;
  const notebook = model.widget_manager?.context?.path;
  if (!config || notebook === undefined) return null;
  const place = notebook.replace(/^[^/]*:/, "").split("/").slice(0, -1).concat(path.split("/"));
  const { baseUrl } = JSON.parse(config);
  const view = folder ? (location.pathname.includes("/lab") ? "lab/tree" : "tree") : "files";
  return `${baseUrl}${view}/${place.map(encodeURIComponent).join("/")}`;
}

function inBase64(bytes) {
  let text = "";
  for (let at = 0; at < bytes.length; at += 8192) text += String.fromCharCode(...bytes.subarray(at, at + 8192));
  return btoa(text);
}

function render({ model, el }) {
  const id = (name) => `${model.get("place")}-${name}`;
  const press = (label, onclick, look = "") => make("button", { type: "button", class: `ab-desk-press ${look}`, onclick }, label);
  const told = () => model.get("shown");

  // One wish at a time, each answered by what is shown with its number: none is passed over.
  const queue = [];
  let asked = null;
  let waiting;
  // An answer to what was asked earlier must not write over what was typed or chosen since.
  const newer = (all) => queue.length > 0 || (asked !== null && asked.n !== all.n);
  const next = () => {
    if (asked || !queue.length) return;
    asked = queue.shift();
    model.set("wish", { ...asked.content, n: asked.n });
    model.save_changes();
  };
  const wish = (content) => new Promise((done) => {
    clearTimeout(waiting);
    queue.push({ content, n: Math.random(), done });
    next();
  });

  const said = make("p", { role: "status", class: "ab-desk-said" });
  const bar = make("progress", { "aria-label": "How far it has come" });
  const step = make("p", { class: "ab-quiet" });
  const stop = press("Stop", () => wish({ kind: "stop" }));
  const links = make("ul", { class: "ab-desk-links", "aria-label": "What was written" });
  const lines = make("pre", { class: "ab-desk-lines", tabindex: "0", role: "region", "aria-label": "What the command says" });
  const out = make("div", { class: "ab-desk-out" }, said, bar, step, stop, links, lines);
  const files = make("div", { class: "ab-desk-waiting" });
  const screen = make("div", {});

  const valueOf = (input) => (input.type === "checkbox" ? (input.checked ? "yes" : "") : input.value);
  const valuesOf = (panel) => Object.fromEntries([...panel.inputs].map(([name, input]) => [name, valueOf(input)]));
  const upload = async (panel, field, input) => {
    const file = input.files[0];
    if (!file) return;
    const parts = Math.max(1, Math.ceil(file.size / PART));
    for (let part = 0; part < parts; part++) {
      const data = inBase64(new Uint8Array(await file.slice(part * PART, (part + 1) * PART).arrayBuffer()));
      await wish({ kind: "upload", panel: panel.name, field, name: file.name, part, parts, data });
      if (told().refused) break;
    }
    input.value = "";
  };

  function fieldOf(panel, { name, label, kind }) {
    const place = id(`${panel.name.replaceAll(" ", "-")}-${name}`);
    const changed = ({ target }) => wish({ kind: "values", panel: panel.name, values: { [name]: valueOf(target) } });
    const input = kind === "choice" || kind === "file" ? make("select", { id: place, class: "ab-desk-input", onchange: changed })
      : make("input", { id: place, type: kind === "check" ? "checkbox" : "text", autocomplete: "off",
        class: kind === "check" ? "" : "ab-desk-input", onchange: changed });
    panel.inputs.set(name, input);
    const named = make("label", { for: place }, label);
    if (kind === "check") return make("p", { class: "ab-desk-row" }, input, named);
    const row = make("div", { class: "ab-desk-field" }, named, input);
    if (kind === "file") {
      const file = make("input", { type: "file", id: `${place}-add`, class: "ab-desk-file", onchange: () => upload(panel, name, file) });
      row.append(make("label", { for: file.id }, `${label}: add a file from your computer`), file);
    }
    return row;
  }

  function panelOf({ name, heading, about, fields, presses }) {
    const panel = { name, inputs: new Map() };
    panel.same = make("code", {});
    const rows = fields.map((field) => fieldOf(panel, field));
    panel.node = make("details", { class: "ab-desk-panel" }, make("summary", {}, make("h3", {}, heading)),
      make("p", {}, about), ...rows,
      make("p", { class: "ab-quiet ab-desk-same" }, "The same as: ", panel.same),
      make("p", { class: "ab-desk-row" }, ...presses.map(([press_, label], place) => press(label,
        () => wish({ kind: "press", panel: name, press: press_, values: valuesOf(panel) }), place ? "" : "ab-desk-go"))));
    return panel;
  }
  const panels = told().panels.map(panelOf);

  function paintPanel(panel, { same, fields }) {
    panel.same.textContent = same;
    for (const { name, kind, value, options } of fields) {
      const input = panel.inputs.get(name);
      if (kind === "check") input.checked = value === "yes";
      else if (kind === "text") {
        if (document.activeElement !== input) input.value = value;
      } else {
        const now = JSON.stringify(options);
        if (input.dataset.options !== now) input.replaceChildren(...options.map(([word, label]) => make("option", { value: word }, label)));
        input.dataset.options = now;
        input.value = value;
      }
    }
  }

  function fileOf({ number, file, why, question, people, nobody }) {
    const who = make("select", { id: id(`who-${number}`), class: "ab-desk-input" }, ...people.map(([value, label]) => make("option", { value }, label)));
    const decide = (value) => wish({ kind: "decide", number, who: value });
    const box = make("fieldset", {}, make("legend", {}, `File ${number}: ${file}`), make("p", {}, `${why}; ${question}`));
    const row = make("p", { class: "ab-desk-row" });
    if (people.length) {
      box.append(make("div", { class: "ab-desk-field" }, make("label", { for: who.id }, "Whose it is"), who));
      row.append(press("It is theirs", () => decide(who.value)));
    }
    row.append(press("It is nobody's", () => decide(nobody)));
    box.append(row);
    return box;
  }

  function paintFiles(all) {
    const now = JSON.stringify(all);
    if (files.dataset.files === now) return;
    const inside = files.contains(document.activeElement);
    files.dataset.files = now;
    files.replaceChildren(...(all.length ? [make("h4", { tabindex: "-1" },
      all.length === 1 ? "One file waits for your decision" : `${all.length} files wait for your decision`)] : []), ...all.map(fileOf));
    if (inside) (files.querySelector("h4") ?? lines).focus();
  }

  const paint = () => {
    const all = told();
    if (!newer(all)) all.panels.forEach((one, place) => paintPanel(panels[place], one));
    const active = panels.find((panel) => panel.name === all.active);
    if (out.parentNode !== active.node) {
      active.node.append(out);
      active.node.open = true;
    }
    if (said.textContent !== all.said) said.textContent = all.said;
    const [stage, done, total] = all.step;
    bar.hidden = !all.running;
    if (all.step.length) {
      bar.max = total || 1;
      bar.value = done;
    } else bar.removeAttribute("value");
    step.textContent = all.running && stage ? `${stage}: ${done} of ${total}` : "";
    const lost = !all.running && document.activeElement === stop;
    stop.hidden = !all.running;
    links.replaceChildren(...all.links.map((link) => {
      const address = addressOf(model, link);
      const where = make("span", { class: "ab-quiet" }, ` ${link.path}`);
      return make("li", {}, address ? make("a", { href: address, target: "_blank", rel: "noopener" }, link.label) : link.label, where);
    }));
    links.hidden = !all.links.length;
    lines.textContent = all.lines.join("\n");
    lines.hidden = !all.lines.length;
    if (lost) lines.focus();
    paintFiles(all.waiting);
    if (screen.className !== all.written) {
      screen.className = all.written;
      screen.replaceChildren(); // the screen draws itself in here, as in any place of its name
      panels.find((panel) => panel.name === "written").node.append(screen);
    }
  };

  const changed = () => {
    paint();
    const all = told();
    if (asked && all.n === asked.n) {
      const { done } = asked;
      asked = null;
      done();
    }
    next();
    clearTimeout(waiting);
    if (all.running && !asked) waiting = setTimeout(() => wish({ kind: "look" }), LOOK);
  };

  el.classList.add("ab", "ab-desk");
  el.append(make("h2", {}, "The desk"),
    make("p", { class: "ab-quiet" }, `Everything happens in ${told().home}, as if the command shown were typed there.`),
    ...panels.map((panel) => panel.node), make("p", { class: "ab-quiet" }, told().caution));
  panels[0].node.append(files);
  paint();
  if (told().running) void wish({ kind: "look" });
  model.on("change:shown", changed);
  return () => {
    clearTimeout(waiting);
    model.off("change:shown", changed);
  };
}

export default { initialize: drawInPlace(render), render };
