// The light page of practice: which topic, what is kept in this browser, and being there offline.
// SETTINGS (topics, files, edition, caution, the schedule) stand in front of this script; practice.js draws.

const at = (id) => document.getElementById(id);
const say = (sentence) => { at("light-said").textContent = sentence; };
const FORGETS = "This browser keeps nothing for this page: its storage is full or closed, as in a "
  + "private window. Your progress lasts until you close this page. Take it along as a file first.";
const CLEARED = "What this browser had kept for this page was cleared. This page still holds it until "
  + "you close it: take it along as a file, and bring it back.";
const WRONG_CLOCK = "Some of your answers are dated later than today by this device's clock. They are "
  + "kept and counted, but do not decide what is due. If the clock is wrong, set it right.";
const { need: NEED } = SETTINGS;
const record = new PracticeRecord(() => localStorage, SETTINGS);
const now = () => Date.now();
const topicsNow = (skills) => new Set(skills.map((skill) => parted(skill)[0]));

// The skills to be asked of somebody: of topics practiced before, in the order of the course.
function openSkills(held) {
  const met = topicsNow([...held.keys()]);
  return SETTINGS.topics.filter(({ name }) => met.has(name)).sort((a, b) => a.taught - b.taught)
    .flatMap(({ name, kinds }) => kinds.map((kind) => `${name}: ${kind}`));
}

function dueOnes(held = record.skills(now())) {
  return dueNow(openSkills(held), held, now(), SETTINGS.model);
}

function warn() {
  const sentence = record.closed ? FORGETS : record.cleared ? CLEARED
    : record.fromTomorrow(now()) ? WRONG_CLOCK : "";
  at("light-warning").textContent = sentence;
  at("light-warning").hidden = !sentence;
}

function showKept() {
  const held = record.skills(now());
  const due = dueOnes(held);
  const rows = SETTINGS.topics.map(({ name }) => ({ name, ...record.of(name),
    due: due.filter((skill) => parted(skill)[0] === name).length })).filter(({ answered }) => answered);
  at("light-kept").replaceChildren(...rows.map(({ name, answered, right, due: count }) => make("li", {
    text: `${name}: ${answered} answered, ${right} of them right${count ? `; ${kindsAre(count)} due` : ""}`,
  })));
  at("light-none").hidden = rows.length > 0;
  at("light-delete").hidden = !record.held.size;
  at("light-back").hidden = !rows.length;
  at("light-back-said").textContent = due.length ? `${kindsAre(due.length)} due now.`
    : new Sitting(() => ({ held, now: now() }), openSkills(held), SETTINGS.model).whenToComeBack();
  const link = document.querySelector(`#light-topics a[href="#${NEED.slug}"]`);
  link.textContent = due.length ? `${NEED.name} (${due.length} due)` : NEED.name;
  warn();
  if (record.setAside) {
    record.setAside = false;
    say("Some of what this browser had kept could not be read. It is set aside, and the rest is in "
      + "use.");
  }
}

// How long the case at hand is looked at [s]: 0 after a pause. A quiet clock that nobody sees.
let shownAt = 0;
const seconds = () => {
  const took = Math.round((performance.now() - shownAt) / 1000);
  return took <= SETTINGS.pause ? Math.max(1, took) : 0;
};

// Keep the answer that was just given, with how sure the learner was.
function keep(run, sure) {
  record.add({ when: now(), skill: `${run.topic.name}: ${run.kind}`, right: run.chosen === run.key,
    sure: SETTINGS.sure.includes(sure) ? sure : "", step: run.step,
    seconds: seconds(), ...run.given() });
  if (!record.closed) navigator.storage?.persist?.().catch(() => {});
  showKept();
}

// A screen as practice.js knows its model: it asks for the view and sends what was pressed.
function modelOf(view, heard) {
  let changed = () => {};
  return {
    get: (name) => (name === "view" ? view() : "light-practice"),
    on: (_, listener) => { changed = listener; },
    off: () => {},
    send: async (message) => {
      await heard(message);
      if (message.want === "next") shownAt = performance.now();
      changed();
    },
  };
}

const begun = (data) => new PracticeRun(data, { step: record.of(data.name).step });

function screenOf(data) {
  const run = begun(data);
  return modelOf(() => ({ ...run.view(SETTINGS.caution), sure: SETTINGS.sure }), (message) => {
    if (message.want === "answer" && !run.chosen) {
      run.answer(message.lines ?? message.choice);
      keep(run, message.sure);
    } else if (message.want === "next" && run.chosen) run.next();
  });
}

// Due cases of every topic, mixed, until nothing is due: teaching/practice/what_i_need.py.
class NeededScreen {
  constructor() {
    const memory = () => ({ held: record.skills(now()), now: now() });
    this.sitting = new Sitting(memory, openSkills(memory().held), SETTINGS.model);
    this.runs = new Map();
    this.count = this.right = 0;
    this.busy = false;
  }

  get model() { return modelOf(() => this.view(), (message) => this.heard(message)); }

  async heard({ want, choice, lines, sure }) {
    if (this.busy) return;
    if (want === "answer" && this.need && !this.run.chosen) {
      this.run.answer(lines ?? choice);
      const right = this.run.chosen === this.run.key;
      this.count += 1;
      this.right += right;
      keep(this.run, sure);
      this.sitting.heard(right);
    } else if (want === "next") await this.bring(this.more || !this.need);
  }

  async bring(more) {
    this.more = more;
    this.busy = true;
    for (;;) {
      this.need = this.sitting.choose(more);
      if (!this.need) break;
      const [name, kind] = parted(this.need.skill);
      const topic = SETTINGS.topics.find((one) => one.name === name);
      try {
        if (!this.runs.has(name)) this.runs.set(name, begun(await dataOf(topic)));
        this.run = this.runs.get(name);
        this.run.nextAbout(kind);
        break;
      } catch {
        say(notLoaded(topic, " It is left out for now."));
        this.sitting.skills = this.sitting.skills.filter((skill) => parted(skill)[0] !== name);
      }
    }
    this.busy = false;
  }

  soFar() {
    return this.count ? `So far: ${this.count} ${this.count === 1 ? "case" : "cases"}, `
      + `${this.right} right.` : "";
  }

  view() {
    const { caution, sure } = SETTINGS;
    const { sitting, run } = this;
    if (!this.need) {
      const known = sitting.skills.some((skill) => sitting.memory().held.has(skill));
      return { ended: true, title: "Nothing is due now.", next: known ? "Go on anyway" : "",
        notes: [this.soFar(), sitting.whenToComeBack()], caution };
    }
    const number = this.count + (run.chosen ? 0 : 1);
    const shown = run.view(caution);
    return { ...shown, sure, title: `${run.topic.title} ${number}: ${run.topic.name}`, next: "Next",
      why_now: this.need.why, progress: this.soFar() || shown.progress };
  }
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

const notLoaded = (topic, more) => (
  `The patients of “${topic.name}” could not be loaded: the file ${topic.file} is missing or `
  + "damaged, or there is no network. Load this page again. If that does not help, choose "
  + `another topic and tell whoever runs this page.${more}`);

async function screenFor(topic) {
  if (topic !== NEED) {
    const data = await dataOf(topic);
    return { keep: data, model: screenOf(data) };
  }
  const screen = new NeededScreen();
  await screen.bring(false);
  return { keep: { keep: [] }, model: screen.model };
}

async function open(topic, focus) {
  if (stale) { location.reload(); return; }
  const turn = ++opening;
  const place = at("light-practice");
  try {
    if (failed) say("");
    failed = false;
    const screen = await screenFor(topic);
    if (turn !== opening) return;
    for (const link of document.querySelectorAll("#light-topics a")) {
      if (link.hash === `#${topic.slug}`) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
    at("light-now").textContent = topic.name;
    at("light-choose").open = false;
    showLines(screen.keep);
    place.className = "";
    render({ model: screen.model, el: place });
    shownAt = performance.now();
    if (focus) place.querySelector("h3").focus();
  } catch {
    if (turn !== opening) return;
    failed = true;
    say(notLoaded(topic, loaded.size ? " The practice below stays as it is." : ""));
    if (!loaded.size) place.textContent = "";
  }
}

const named = () => [NEED, ...SETTINGS.topics].find(({ slug }) => `#${slug}` === location.hash);
const asked = () => named() || (dueOnes().length ? NEED : SETTINGS.topics[0]);

function takeAlong() {
  const link = make("a", { download: SETTINGS.file,
    href: URL.createObjectURL(new Blob([record.text(now())], { type: "application/octet-stream" })) });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  say(`Your progress was saved as ${SETTINGS.file}. Bring it back here, or in another browser.`);
}

async function bringBack({ target }) {
  const [file] = target.files;
  if (!file) return;
  try {
    if (file.size > SETTINGS.largest) throw new Error("too large");
    const damaged = record.bring(await file.text());
    const lines = damaged === 1 ? "One line of it is" : `${damaged} lines of it are`;
    say(`The progress in ${file.name} was brought back.${
      damaged ? ` ${lines} damaged and left out.` : ""}`);
  } catch (error) {
    say(error instanceof RangeError
      ? `${file.name} was written by a newer edition. Nothing was changed. Load this page again first.`
      : `${file.name} holds no progress of this page, or is damaged. Nothing was changed. Choose the `
        + `file ${SETTINGS.file} that this page saved.`);
  }
  showKept();
  target.value = "";
}

function deleteKept() {
  if (!confirm("Delete the progress that this page has kept in this browser? Take it along as a file "
    + "first, if you want it back.")) return;
  record.erase();
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

record.read(); // whether it keeps anything is said before the first answer, not after
showKept();
at("light-take").addEventListener("click", takeAlong);
at("light-bring").addEventListener("change", bringBack);
at("light-delete").addEventListener("click", deleteKept);
window.addEventListener("hashchange", () => open(asked(), true));
window.addEventListener("storage", ({ key, newValue }) => {
  if (key !== null && !key.startsWith(KEPT)) return;
  if (key !== null && newValue === null) record.forget(key); // deleted in another tab
  else record.read();
  showKept();
});
document.addEventListener("visibilitychange", () => { // a day later it is told anew
  if (document.visibilityState === "visible") { record.read(); showKept(); }
});
open(asked(), false).then(keepOffline);
