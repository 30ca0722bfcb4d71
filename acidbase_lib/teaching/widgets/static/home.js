// The home page: the units, where to go on, practice and progress. placed.js stands before this file.

// Where a unit opens: in the view that this page is open in.
function addressOf(path, from) {
  const here = new URL(window.location.href);
  const folder = (from ?? "").split("/").slice(0, -1).join("/");
  const full = folder ? `${folder}/${path}` : path;
  if (here.searchParams.has("path")) { // the page with no server
    here.searchParams.set("path", full);
    return here.href;
  }
  const [own, other] = [from ?? "", full].map((one) => one.split("/").map(encodeURIComponent).join("/"));
  if (own && here.pathname.endsWith(own)) return here.pathname.slice(0, -own.length) + other;
  const told = document.getElementById("jupyter-config-data")?.textContent;
  return `${told ? JSON.parse(told).baseUrl : "/"}lab/tree/${other}`;
}

// A link to a unit: in this tab, wherever the front end would open others. A slow network shows nothing
// for a while, so the pressed link says at once that it was pressed.
function unitLink(look, path, from, label) {
  const link = make("a", { class: look, target: "_self", href: new URL(addressOf(path, from), window.location.href).href }, label);
  link.addEventListener("click", ({ button, ctrlKey, metaKey, shiftKey }) => {
    if (button || ctrlKey || metaKey || shiftKey) return; // a tab of its own was asked for
    link.textContent = "Opening…";
    setTimeout(() => { link.textContent = label; }, 20_000); // the reader stayed after all
  });
  return link;
}

function render({ model, el }) {
  const from = model.widget_manager?.context?.path;
  const ask = (content) => {
    try { model.send(content); } catch { said.textContent = "This page has stopped. Load it again."; }
  };
  const onward = make("p", { class: "ab-home-onward" });
  const said = make("p", { role: "status" });
  const list = make("ol", { class: "ab-home-units" });
  const choose = make("select", { class: "ab-home-press", id: `${model.get("place")}-topic` });
  const place = make("div", {});
  const table = make("div", { role: "status" });
  const practiced = make("div", { role: "status" });

  const paint = () => {
    const { units, next, said: words, topics } = model.get("view");
    onward.hidden = !next.path;
    if (next.path) {
      onward.replaceChildren(
        unitLink("ab-home-press ab-home-go", next.path, from, `${next.label} ${next.title}`),
        make("span", {}, next.left));
    }
    said.textContent = words;
    list.replaceChildren(...units.map((unit) => make("li", {},
      unitLink("ab-home-unit", unit.path, from, unit.title),
      make("span", { class: unit.trouble ? "ab-home-trouble" : "ab-quiet" }, unit.said),
      bar(unit))));
    if (choose.options.length !== topics.length) {
      choose.replaceChildren(...topics.map((topic) => make("option", { value: topic }, topic)));
    }
  };
  const bar = ({ asked, done, trouble }) => make("div", { class: "ab-home-bar", "aria-hidden": "true", ...(trouble ? { hidden: "" } : {}) },
    make("div", { style: `width:${asked ? Math.round((100 * done) / asked) : 0}%` }));
  const paintPractice = () => {
    const { topic, place: name } = model.get("practice");
    place.replaceChildren(...(name ? [make("div", { class: name, "aria-label": `Practice: ${topic}`, role: "region" })] : []));
  };
  const lookAgain = () => {
    const { title, path, says } = model.get("worth_a_look");
    if (!says) return [];
    return [make("p", {}, make("strong", {}, "What next? "), ...(path ? [unitLink("ab-home-look", path, from, title), " "] : []), says)];
  };
  const beforeAfter = () => {
    const rows = model.get("before");
    if (!rows.length) return [];
    return [make("div", { class: "ab-scroll", role: "group", tabindex: "0", "aria-label": "Before and after" }, make("table", {},
      make("caption", {}, "Before and after: right answers"),
      make("thead", {}, make("tr", {}, ...["what unit 0 asked is taught in", "first thoughts in unit 0", "first tries in that unit", "now"].map((word) => make("th", { scope: "col" }, word)))),
      make("tbody", {}, ...rows.map(({ title, before, after, now }) => make("tr", {}, make("th", { scope: "row" }, title), ...[before, after, now].map((text) => make("td", {}, text))))))),
    make("p", { class: "ab-quiet" }, "A first thought earns its points right or not: it only shows where you began.")];
  };
  const paintProgress = () => {
    const rows = model.get("progress");
    if (!rows.length) {
      table.replaceChildren(make("p", {}, "Nothing to count yet. Answer a question first."), ...beforeAfter());
      return;
    }
    const cell = (text) => make("td", {}, String(text));
    table.replaceChildren(make("div", { class: "ab-scroll", role: "group", tabindex: "0", "aria-label": "My progress" }, make("table", {},
      make("caption", {}, "Your answers that can be marked here"),
      make("thead", {}, make("tr", {}, ...["unit", "answers", "right at the first try", "right now", "points"].map((word) => make("th", { scope: "col" }, word)))),
      make("tbody", {}, ...rows.map((row) => make("tr", {}, make("th", { scope: "row" }, row.title, ...(row.thoughts ? [make("span", { class: "ab-quiet ab-home-thoughts" }, row.thoughts)] : [])), cell(row.checked), cell(row.first), cell(row.now), cell(row.maximum ? `${Number(row.points.toFixed(2))} of ${row.maximum}` : "–")))))),
      make("p", { class: "ab-quiet" }, "Right means right in every line. Points are counted as each unit says, half points too."), ...lookAgain(), ...beforeAfter());
  };

  // What practice has come to: what holds, what is fading, the aim, and a way to erase it all.
  const paintHeld = () => {
    const { facts, rows, mastery, away, lines, warning } = model.get("held");
    const note = (text) => (text ? [make("p", {}, text)] : []);
    if (!facts) {
      practiced.replaceChildren(...note(warning), make("p", {}, "No practice is kept."));
      return;
    }
    practiced.replaceChildren(...note(warning), ...note(away),
      make("div", { class: "ab-scroll", role: "group", tabindex: "0", "aria-label": "My practice" }, make("table", {},
        make("caption", {}, "What you practiced"),
        make("thead", {}, make("tr", {}, ...["topic", "holds", "due or fading", "not met yet"].map((word) => make("th", { scope: "col" }, word)))),
        make("tbody", {}, ...rows.map((row) => make("tr", {}, make("th", { scope: "row" }, row.topic), ...[row.holds, row.fading, row.new].map((text) => make("td", {}, text))))))),
      make("p", {}, facts), ...note(lines),
      make("h3", {}, "Mastery of the whole gas"), ...mastery.map((text) => make("p", {}, text)),
      make("p", {}, make("button", { type: "button", class: "ab-home-press", onclick: () => ask({ kind: "erase" }) }, "Erase what I practiced")),
      make("p", { class: "ab-quiet" }, "It deletes the file my_practice.jsonl, and damaged copies of it. Your units stay as they are."));
  };

  el.classList.add("ab", "ab-home-page");
  el.append(
    onward, make("h2", {}, "The units"), said, list,
    make("h2", {}, "Practice"),
    make("p", {}, "A new invented patient at each press. Nothing is marked. What you practice is kept in one file beside your units, my_practice.jsonl, for you alone."),
    make("p", { class: "ab-home-row" }, make("button", { type: "button", class: "ab-home-press", onclick: () => ask({ kind: "practice", topic: "what I need" }) }, "Practice what I need"),
      make("span", {}, "What is due first, mixed. It says when to come back.")),
    make("p", { class: "ab-home-row" }, make("label", { for: choose.id }, "Or one topic"), choose,
      make("button", { type: "button", class: "ab-home-press", onclick: () => ask({ kind: "practice", topic: choose.value }) }, "Practice")),
    place,
    make("h2", {}, "My progress"),
    make("p", {}, "Counted from your own files. Nobody else sees it."),
    make("p", {}, make("button", { type: "button", class: "ab-home-press", onclick: () => {
      table.replaceChildren(make("p", {}, "Counting…"));
      ask({ kind: "progress" });
    } }, "Show my progress")),
    table, practiced,
    make("p", { class: "ab-quiet" }, model.get("view").caution));
  paint();
  paintPractice();
  model.on("change:view", paint);
  model.on("change:practice", paintPractice);
  model.on("msg:custom", (told) => { 
    if (told.kind === "progress") paintProgress();
    if (told.kind === "progress" || told.kind === "erased") paintHeld();
  });
  // Back from a unit: what was answered there is counted.
  const back = () => {
    if (document.visibilityState !== "visible") return;
    paint();
    ask({ kind: "read again" });
  };
  document.addEventListener("visibilitychange", back);
  window.addEventListener("pageshow", back);
  return () => {
    document.removeEventListener("visibilitychange", back);
    window.removeEventListener("pageshow", back);
    model.off("change:view", paint);
    model.off("change:practice", paintPractice);
  };
}

export default { initialize: drawInPlace(render), render };
