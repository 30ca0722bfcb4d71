// The light page of practice: which topic, what is kept in this browser, and being there offline.
// SETTINGS (topics, files, edition, caution) stand in front of this script; practice.js draws.

const KEPT = "acidbase-practice";
const ASIDE = `${KEPT}-unread`; // what was found under KEPT and is no progress of ours
const at = (id) => document.getElementById(id);
const say = (sentence) => { at("light-said").textContent = sentence; };
const warn = (sentence) => {
  at("light-warning").textContent = sentence;
  at("light-warning").hidden = !sentence;
};
const FORGETS = "This browser keeps nothing for this page: its storage is full or closed, as in a "
  + "private window. Your progress lasts until you close this page. Take it along as a file first.";

// What one browser has counted: {browser: {topic: {right, wrong, step}}}. A file brought back adds
// other browsers, and of the same browser the larger counts win, so nothing is counted twice.
const Progress = {
  now: {},
  own: "",

  read() {
    let text = null;
    try { text = localStorage.getItem(KEPT); } catch { warn(FORGETS); return; }
    if (text === null) return;
    try {
      const found = counted(JSON.parse(text));
      this.now = joined(this.now, found.browsers);
      this.own = found.own || this.own;
    } catch {
      try { localStorage.setItem(ASIDE, text); } catch { /* it is still under its old name */ }
      say("What this browser had kept could not be read. It is set aside, and you start anew.");
    }
  },

  write() {
    try {
      localStorage.setItem(KEPT, this.text());
      warn("");
      navigator.storage?.persist?.().catch(() => {});
    } catch { warn(FORGETS); }
  },

  text() {
    return JSON.stringify({ kind: KEPT, own: this.own, browsers: this.now });
  },

  add(topic, right, step) {
    this.read(); // another tab may have added meanwhile
    this.own ||= Math.random().toString(36).slice(2, 12);
    const mine = this.now[this.own] ||= {};
    const row = mine[topic] ||= { right: 0, wrong: 0, step: 0 };
    row[right ? "right" : "wrong"] += 1;
    row.step = step;
    this.write();
  },

  of(topic) {
    const rows = Object.values(this.now).map((one) => one[topic]).filter(Boolean);
    const sum = (name) => rows.reduce((total, row) => total + row[name], 0);
    const mine = this.now[this.own]?.[topic];
    return { right: sum("right"), wrong: sum("wrong"),
      step: mine ? mine.step : Math.max(0, ...rows.map((row) => row.step)) };
  },
};

// Progress as plain data, or an error: whole counts, and topics of this page or of another edition.
function counted(data) {
  if (data?.kind !== KEPT) throw new Error("another kind of file");
  const browsers = Object.create(null); // a file may name anything
  for (const [browser, topics] of Object.entries(data.browsers)) {
    browsers[browser] = {};
    for (const [topic, { right, wrong, step }] of Object.entries(topics)) {
      if (![right, wrong, step].every((one) => Number.isSafeInteger(one) && one >= 0)) {
        throw new Error("a count that is none");
      }
      browsers[browser][topic] = { right, wrong, step };
    }
  }
  return { own: typeof data.own === "string" ? data.own : "", browsers };
}

function joined(first, second) {
  const both = structuredCopy(first);
  for (const [browser, topics] of Object.entries(second)) {
    const into = both[browser] ||= {};
    for (const [topic, row] of Object.entries(topics)) {
      const had = into[topic];
      const more = !had || row.right + row.wrong >= had.right + had.wrong;
      into[topic] = had ? { right: Math.max(row.right, had.right),
        wrong: Math.max(row.wrong, had.wrong), step: more ? row.step : had.step } : row;
    }
  }
  return both;
}

const structuredCopy = (data) => JSON.parse(JSON.stringify(data));

function showKept() {
  const rows = SETTINGS.topics.map(({ name }) => ({ name, ...Progress.of(name) }))
    .filter(({ right, wrong }) => right + wrong);
  at("light-kept").replaceChildren(...rows.map(({ name, right, wrong }) => make("li", {
    text: `${name}: ${right + wrong} answered, ${right} of them right`,
  })));
  at("light-none").hidden = rows.length > 0;
  at("light-delete").hidden = !rows.length;
}

// The form's model, as practice.js knows one: it asks for the view and sends what was pressed.
function screenOf(topic) {
  const run = new PracticeRun(topic, { step: Progress.of(topic.name).step });
  let changed = () => {};
  return {
    get: (name) => (name === "view" ? run.view(SETTINGS.caution) : "light-practice"),
    on: (_, heard) => { changed = heard; },
    off: () => {},
    send: ({ want, choice }) => {
      if (want === "answer") {
        run.answer(choice);
        Progress.add(topic.name, choice === run.key, run.step);
        showKept();
      } else if (want === "next" && run.chosen) run.next();
      changed();
    },
  };
}

// The lines to keep, closed: a learner answers first. ** parts what is bold from what is not.
function showLines(topic) {
  at("light-keep").hidden = !topic.keep.length;
  at("light-keep").open = false;
  at("light-lines").replaceChildren(...topic.keep.map((line) => make("li", {},
    ...line.split("**").map((piece, place) => (
      place % 2 ? make("strong", { text: piece }) : piece)))));
  at("light-sources").textContent = topic.sources && `Where this comes from. ${topic.sources}`;
}

const loaded = new Map();
async function dataOf(topic) {
  if (!loaded.has(topic.name)) {
    const answer = await fetch(topic.file);
    if (!answer.ok) throw new Error(`${answer.status}`);
    const data = await answer.json();
    if (data.edition !== SETTINGS.edition) throw new Error("another edition");
    loaded.set(topic.name, data);
  }
  return loaded.get(topic.name);
}

let stale = false; // another edition has taken over: what is not loaded yet comes from that one
let opening = 0;
let failed = false;

async function open(topic, focus) {
  if (stale) { location.reload(); return; }
  const turn = ++opening;
  const place = at("light-practice");
  try {
    const data = await dataOf(topic);
    if (turn !== opening) return;
    for (const link of document.querySelectorAll("#light-topics a")) {
      if (link.hash === `#${topic.slug}`) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
    at("light-now").textContent = topic.name;
    at("light-choose").open = false;
    showLines(data);
    place.className = "";
    render({ model: screenOf(data), el: place });
    if (failed) say("");
    failed = false;
    if (focus) place.querySelector("h3").focus();
  } catch {
    if (turn !== opening) return;
    failed = true;
    const had = loaded.size ? " The practice below stays as it is." : "";
    say(`The patients of “${topic.name}” could not be loaded: the file ${topic.file} is missing or `
      + "damaged, or there is no network. Load this page again. If that does not help, choose "
      + `another topic and tell whoever runs this page.${had}`);
    if (!loaded.size) place.textContent = "";
  }
}

const asked = () => SETTINGS.topics.find(({ slug }) => `#${slug}` === location.hash)
  || SETTINGS.topics[0];

function takeAlong() {
  const link = make("a", { download: "practice-progress.json",
    href: URL.createObjectURL(new Blob([Progress.text()], { type: "application/json" })) });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  say("Your progress was saved as practice-progress.json. Bring it back here, or in another browser.");
}

async function bringBack({ target }) {
  const [file] = target.files;
  if (!file) return;
  try {
    const found = counted(JSON.parse(await file.text()));
    Progress.read();
    Progress.now = joined(Progress.now, found.browsers);
    Progress.write();
    showKept();
    say(`The progress in ${file.name} was brought back.`);
  } catch {
    say(`${file.name} holds no progress of this page, or is damaged. Nothing was changed. Choose the `
      + "file practice-progress.json that this page saved.");
  }
  target.value = "";
}

function deleteKept() {
  if (!confirm("Delete the progress that this page has kept in this browser? Take it along as a file "
    + "first, if you want it back.")) return;
  Progress.now = {};
  Progress.own = "";
  try { localStorage.removeItem(KEPT); localStorage.removeItem(ASIDE); } catch { warn(FORGETS); }
  showKept();
  say("The progress that was kept here is deleted.");
}

// After the first question, so that it waits for nothing: the whole page is fetched and kept.
async function keepOffline() {
  const told = at("light-offline");
  const network = "This page needs a network each time you open it, in this browser.";
  if (!navigator.serviceWorker) { told.textContent = network; return; }
  let wanted = false;
  const controlled = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (wanted) location.reload();
    else stale = stale || controlled;
  });
  try {
    const own = await navigator.serviceWorker.register("offline.js", { updateViaCache: "none" });
    const offer = () => {
      if (!own.waiting || !own.active) return;
      at("light-newer").hidden = false;
      at("light-swap").onclick = () => { wanted = true; own.waiting.postMessage("swap"); };
    };
    own.addEventListener("updatefound", () => {
      const coming = own.installing;
      coming.addEventListener("statechange", () => {
        if (coming.state === "installed") offer();
        if (coming.state === "redundant" && !own.active) told.textContent = network;
      });
    });
    offer();
    await navigator.serviceWorker.ready;
    told.textContent = "This page is kept on this device: it opens and works without a network.";
  } catch { told.textContent = network; }
}

Progress.read();
try { // whether it keeps anything is said before the first answer, not after
  localStorage.setItem(`${KEPT}-try`, "1");
  localStorage.removeItem(`${KEPT}-try`);
} catch { warn(FORGETS); }
showKept();
at("light-take").addEventListener("click", takeAlong);
at("light-bring").addEventListener("change", bringBack);
at("light-delete").addEventListener("click", deleteKept);
window.addEventListener("hashchange", () => open(asked(), true));
window.addEventListener("storage", ({ key, newValue }) => {
  if (key !== KEPT && key !== null) return;
  if (newValue === null || key === null) Progress.now = {}; // deleted in another tab
  else Progress.read();
  showKept();
});
open(asked(), false).then(keepOffline);
