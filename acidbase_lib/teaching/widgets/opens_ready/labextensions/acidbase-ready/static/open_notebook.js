// One open notebook of the kit: what runs in it, what is drawn around its cells, what its bar says.

import { kindOf, openedBy, planOf, questionOf, stateOf } from "./our_cells.js";
import { enter, leave } from "./kernel.js";
import { watchOtherTabs } from "./other_tabs.js";

const MOST_RESTARTS = 3; // in a minute: a kernel that dies of its cells is not fed them for ever
const CLASSES = { setup: "ab-own-setup", home: "ab-own-home", answer: "ab-own-answer", picture: "ab-own-picture",
  practice: "ab-own-practice", "look back": "ab-own-look-back", check: "ab-own-check" };
const LOST = /^([0-9A-Za-z][0-9A-Za-z-]{0,40})-answer$/;
const LOOKS = { review: "Look back at my answers", result: "Show my result",
  twins: "Go through what was not right" };
const TYPING = "Write after the colons. Leave the first line, which names the question, and lines that begin with #: your first try is kept there.";

function element(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value);
  }
  node.append(...children);
  return node;
}

export class OpenNotebook {
  constructor(panel, { app, CodeCell, Widget }) {
    Object.assign(this, { panel, app, CodeCell, busy: false, again: false, started: [], showsCode: false });
    this.plan = planOf(this.cells);
    this.texts0 = this.texts();
    panel.node.dataset.acidbase = this.plan.what;
    panel.toolbar.hide();
    this.makeRoom();
    this.watchKeys();
    this.watched = new WeakSet();
    this.drawBar(Widget);
    this.look();
    panel.content.model.cells.changed.connect(() => this.look());
    this.watchKernel();
    watchOtherTabs(panel, app, { twice: (yes) => this.tellTwice(yes), renewed: () => void this.start(true) });
    void this.begin();
  }

  get cells() {
    return this.panel.content.widgets.map((cell) => ({ type: cell.model.type,
      source: cell.model.sharedModel.getSource() }));
  }

  // ---- what is drawn around the cells ----

  lookSoon() {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.look(), 300);
  }

  look() {
    if (this.panel.isDisposed) return;
    this.plan = planOf(this.cells);
    this.panel.content.widgets.forEach((cell, place) => {
      if (!this.watched.has(cell.model)) cell.model.contentChanged.connect(() => this.lookSoon());
      this.watched.add(cell.model);
      const kind = this.plan.kinds[place] ?? "";
      for (const [name, word] of Object.entries(CLASSES)) cell.toggleClass(word, name === kind);
      cell.toggleClass("ab-own", kind !== "");
      // The platform's list of cells is a feed; its cells do not say that they are its articles.
      if (!cell.node.hasAttribute("role")) cell.node.setAttribute("role", "article");
      this.drawFoot(cell, kind);
    });
    this.tellProgress();
  }

  // On a phone the side bars of JupyterLab leave a sliver to read in.
  makeRoom() {
    const { shell } = this.app;
    if (window.innerWidth >= 600 || !shell.collapseLeft) return;
    shell.collapseLeft();
    shell.collapseRight();
    shell.mode = "single-document";
  }

  // A frame around the cell in focus is for those who came there by a key.
  watchKeys() {
    const { node } = this.panel;
    const byKey = ({ type }) => node.toggleAttribute("data-acidbase-keys", type === "keydown");
    for (const sign of ["keydown", "pointerdown"]) document.addEventListener(sign, byKey, true);
    this.panel.disposed.connect(() => {
      for (const sign of ["keydown", "pointerdown"]) document.removeEventListener(sign, byKey, true);
    });
  }

  // What a press does for a cell whose code is hidden.
  drawFoot(cell, kind) {
    const lost = kind === "" && this.plan.what === "setup" && this.lostQuestion(cell);
    const wanted = kind === "answer" ? "type" : kind === "look back" ? "look" : lost ? "mend" : "";
    const there = cell.node.querySelector(":scope > .ab-foot");
    if ((there?.dataset.does ?? "") === wanted) return;
    there?.remove();
    if (!wanted) return;
    const button = (label, press) => element("button", { type: "button", class: "ab-press", onclick: press }, label);
    const foot = element("div", { class: "ab-foot", "data-does": wanted, "data-lm-suppress-shortcuts": "true" });
    if (wanted === "type") {
      foot.append(button("", () => this.typeIn(cell)), element("p", { class: "ab-foot-note" }, TYPING));
    } else if (wanted === "look") {
      const what = /\w+(?=\()/.exec(cell.model.sharedModel.getSource())?.[0];
      foot.append(button(LOOKS[what] ?? "Show", () => this.execute([cell])));
    } else {
      foot.append(element("p", {}, `The first line of this answer is gone: %%chart ${lost}. What you wrote is still there. `),
        button("Put the first line back", () => this.mend(cell, lost)));
    }
    cell.node.append(foot);
    this.nameTyping(cell);
  }

  // An answer cell is known by its name when its first line, which says so, was deleted.
  lostQuestion(cell) {
    if (cell.model.type !== "code") return "";
    const name = LOST.exec(cell.model.getMetadata("nbgrader")?.grade_id ?? "")?.[1];
    const used = this.panel.content.widgets.some((one) => questionOf(one.model.sharedModel.getSource()) === name);
    return name && !used ? name : "";
  }

  async mend(cell, question) {
    const lines = cell.model.sharedModel.getSource().split("\n");
    if (/^\s*[%#]/.test(lines[0])) lines.shift();
    cell.model.sharedModel.setSource([`%%chart ${question}`, ...lines].join("\n"));
    this.look();
    await this.start(true);
  }

  // The text stands above its form, on a phone a screen above: the reader is brought there, and back.
  typeIn(cell) {
    cell.inputHidden = !cell.inputHidden;
    this.nameTyping(cell);
    const press = cell.node.querySelector(":scope > .ab-foot .ab-press");
    if (cell.inputHidden) return press?.scrollIntoView({ block: "nearest" });
    cell.editor?.focus();
    requestAnimationFrame(() => cell.node.querySelector(".jp-InputArea-editor")?.scrollIntoView({ block: "center" }));
  }

  // What the button below a form does at its next press.
  nameTyping(cell) {
    const press = cell.node.querySelector(':scope > .ab-foot[data-does="type"] .ab-press');
    if (!press) return;
    const label = cell.inputHidden ? "Type the answer" : "Hide the typed answer";
    if (press.textContent !== label) press.textContent = label;
    press.nextElementSibling.hidden = cell.inputHidden;
    press.setAttribute("aria-label", `${label} to ${named(cell)}`);
    press.setAttribute("aria-expanded", String(!cell.inputHidden));
  }

  showCode(show) {
    this.showsCode = show;
    this.panel.node.toggleAttribute("data-acidbase-code", show);
    this.panel.toolbar.setHidden(!show);
    for (const cell of this.panel.content.widgets) {
      if (cell.hasClass("ab-own")) cell.inputHidden = !show;
      this.nameTyping(cell);
    }
    this.app.commands.notifyCommandChanged("acidbase:show-code");
  }

  // ---- the bar at the top ----

  drawBar(Widget) {
    this.said = element("span", { class: "ab-bar-said", role: "status" });
    this.press = element("button", { type: "button", class: "ab-press", hidden: "" });
    this.home = element("a", { class: "ab-press", hidden: "", onclick: opening }, "All units");
    this.next = element("a", { class: "ab-press", hidden: "", onclick: opening });
    const node = element("div", { class: "ab-bar", role: "region", "aria-label": "This unit",
      "data-lm-suppress-shortcuts": "true" }, this.home, this.said, this.press, this.next);
    this.bar = new Widget({ node });
    this.panel.contentHeader.addWidget(this.bar);
    if (this.plan.what === "home") this.bar.hide();
    else void this.findHome();
  }

  async findHome() {
    const { path } = this.panel.context;
    if (path.split("/").length < 2) return;
    const folder = path.split("/").slice(0, -2).join("/");
    const there = await this.app.serviceManager.contents.get(folder, { content: true }).catch(() => null);
    const files = Array.isArray(there?.content) ? there.content : [];
    const at = (name) => (folder ? `${folder}/${name}` : name);
    this.after = nextUnit(files, path.split("/").at(-2), at);
    this.tellProgress();
    if (!files.some((file) => file.name === "home.ipynb")) return;
    this.home.href = addressOf(at("home.ipynb"), path);
    this.home.hidden = false;
  }

  // The way on, once all is answered; a neighbor that cannot be read is left out.
  async offerNext(done) {
    this.next.hidden = !done || !this.next.textContent;
    if (!done || !this.after) return;
    const path = this.after;
    this.after = "";
    const there = await this.app.serviceManager.contents.get(path, { content: true }).catch(() => null);
    const title = titleOf(there?.content?.cells);
    if (!title) return;
    this.next.textContent = `Next: ${title}`;
    this.next.href = addressOf(path, this.panel.context.path);
    this.tellProgress();
  }

  tellTwice(yes) {
    if (this.twice === yes || this.panel.isDisposed) return;
    this.twice = yes;
    this.tellProgress();
  }

  say(sentence, label = "", press = null) {
    this.said.textContent = sentence;
    this.press.hidden = !press;
    this.press.textContent = label;
    this.press.onclick = press;
    this.telling = Boolean(press) && label !== GO_ON && label !== GO_ON_FIRST;
    if (this.plan.what === "home") this.bar.setHidden(!sentence);
  }

  tellProgress() {
    if (this.busy || this.telling || this.plan.what !== "setup" || !this.ready) return;
    const answers = this.answers();
    const left = answers.filter(({ state }) => state !== "answered");
    if (!answers.length) return;
    const count = this.twice ? TWICE : `${answers.length - left.length} of ${answers.length} answered.`;
    void this.offerNext(!left.length);
    if (!left.length) return this.say(count);
    if (left.length === answers.length && left[0].state === "empty") return this.say(count, GO_ON_FIRST, () => this.goTo(left[0].place));
    this.say(count, GO_ON, () => this.goTo(left[0].place));
  }

  answers() {
    return this.cells.map(({ source }, place) => ({ source, place }))
      .filter(({ source, place }) => this.plan.kinds[place] === "answer" && /^q\d/.test(questionOf(source)))
      .map(({ source, place }) => ({ place, state: stateOf(source) }));
  }

  // To the prompt above an answer cell; the keyboard goes there as well.
  async goTo(place) {
    const { content } = this.panel;
    const prompt = content.widgets[place - 1]?.model.type === "markdown" ? place - 1 : place;
    content.activeCellIndex = prompt;
    for (let turn = 0; turn < 3; turn += 1) { // cells above are measured as they are drawn
      await content.scrollToItem(prompt, "start").catch(() => {});
      await new Promise((done) => setTimeout(done, 120));
    }
    content.widgets[prompt]?.node.focus({ preventScroll: true });
  }

  // The platform runs all cells and goes to the last: go to the top, until the reader goes elsewhere.
  async stayAtTop() {
    const { content } = this.panel;
    let moved = false;
    const moves = () => { moved = true; };
    const signs = ["wheel", "touchstart", "pointerdown", "keydown"];
    for (const sign of signs) content.node.addEventListener(sign, moves, { once: true });
    for (const wait of [0, 60, 200, 500]) {
      await new Promise((done) => setTimeout(done, wait));
      if (moved || this.panel.isDisposed) break;
      content.activeCellIndex = 0;
      await content.scrollToItem(0, "start").catch(() => {});
    }
    for (const sign of signs) content.node.removeEventListener(sign, moves);
  }

  // ---- what runs ----

  watchKernel() {
    const { sessionContext } = this.panel;
    sessionContext.statusChanged.connect((_, status) => {
      if (status === "restarting" || status === "autorestarting") this.again = true;
      else if (status === "dead") this.tellStopped();
      else if (status === "idle" && this.again) {
        this.again = false;
        void this.start();
      }
    });
    sessionContext.kernelChanged.connect((_, { newValue }) => {
      if (!this.ready) return;
      if (newValue) void newValue.info.then(() => this.start());
      else this.tellStopped();
    });
  }

  tellStopped() {
    this.say("The questions have stopped. Your answers are kept.", "Show the questions again", () => this.restart());
  }

  async restart() {
    const { sessionContext } = this.panel;
    this.say("Starting…");
    this.started = [];
    try {
      if (sessionContext.session?.kernel && sessionContext.kernelDisplayStatus !== "dead") await this.start(true);
      else if (sessionContext.session?.kernel) await sessionContext.restartKernel();
      else await sessionContext.startKernel();
    } catch {
      this.say("The questions could not be started. Reload this page.", "Try again", () => this.restart());
    }
  }

  async begin() {
    this.say("Getting ready…");
    await this.panel.sessionContext.ready;
    this.ready = true;
    if (this.panel.sessionContext.session?.kernel) await this.start();
    else this.tellStopped();
  }

  // Run what is the kit's and not alive yet. `asked`: by a press, also in a kernel that others used.
  async start(asked = false) {
    const kernel = this.panel.sessionContext.session?.kernel;
    if (!kernel || this.busy || this.panel.isDisposed) return;
    const now = Date.now();
    this.started = this.started.filter((time) => now - time < 60_000);
    if (!asked && this.started.length >= MOST_RESTARTS) return this.tellStopped();
    this.started.push(now);
    this.busy = true;
    this.say("Getting ready…");
    let trouble = null;
    try {
      trouble = await this.startIn(kernel, asked);
    } catch (slip) {
      trouble = ["The questions could not be started. Your answers are kept.", "Show the questions again"];
      console.warn("acidbase-ready:", slip);
    }
    this.busy = false;
    if (trouble) this.say(...trouble, trouble[1] ? () => this.restart() : null);
    else {
      this.say("");
      this.look();
    }
    this.panel.node.dataset.acidbaseReady = trouble ? "no" : "yes";
  }

  async startIn(kernel, asked) {
    const told = await enter(kernel);
    if (!told) return ["This notebook is not opened with Python, so its questions cannot be shown.", ""];
    try {
      if (!told.kit) return ["The kit is not installed for this notebook's Python. Ask your instructor.", ""];
      const { content, context } = this.panel;
      this.plan = planOf(this.cells);
      const first = content.widgets[this.plan.first];
      if (!first) return null;
      const home = this.plan.what === "home";
      const unit = home ? "home" : openedBy(first.model.sharedModel.getSource());
      const same = told.unit === unit;
      if (told.runs > 0 && !same && !asked) return ["Nothing is shown yet.", "Show the questions"];
      const before = this.texts0 ?? (context.model.dirty ? null : this.texts());
      this.texts0 = null;
      if (!same || (home && !isAlive(first, told.places))) {
        await this.execute([first]);
        if (!home && (await enter(kernel))?.unit !== unit) {
          return ["This unit could not be opened; the page says why.", "Try again"];
        }
      }
      const places = same ? told.places : [];
      const cells = this.plan.starts.map((place) => content.widgets[place])
        .filter((cell) => cell !== first && !isAlive(cell, places) && !(same && staysAsItIs(cell)));
      await this.execute(cells.slice(0, SOON)); // what is read first is there first
      await this.execute(cells.slice(SOON));
      // Showing a unit changes nothing that is worth a save, or a question on leaving.
      if (before !== null && before === this.texts()) context.model.dirty = false;
      return null;
    } finally {
      await leave(kernel).catch(() => {});
    }
  }

  texts() {
    return JSON.stringify(this.cells.map(({ source }) => source));
  }

  // All are sent at once: the kernel takes them in order. Each is looked at once more as it is sent.
  async execute(cells) {
    const { sessionContext } = this.panel;
    await Promise.all(cells.map(async (cell) => {
      const source = cell.model.sharedModel.getSource();
      if (cell.isDisposed || !kindOf(source) || kindOf(source) === "check") return;
      const reply = await this.CodeCell.execute(cell, sessionContext, {}).catch(() => null);
      // An answer that the form could not write comes back with the kernel's reply.
      const text = reply?.content?.payload?.find?.((one) => one.source === "set_next_input" && one.replace)?.text;
      if (text && questionOf(text) && questionOf(text) === questionOf(source)) cell.model.sharedModel.setSource(text);
    }));
  }
}

const SOON = 2;
const GO_ON = "Go on where you left off";
const GO_ON_FIRST = "Go to the first question";
const TWICE = "This unit is open in another tab. Work in one of them.";

// A slow network shows nothing for a while: the pressed link says at once that it was pressed.
function opening({ currentTarget: link, button, ctrlKey, metaKey, shiftKey }) {
  if (button || ctrlKey || metaKey || shiftKey) return; // a tab of its own was asked for
  const label = link.textContent;
  link.textContent = "Opening…";
  const back = () => { link.textContent = label; };
  window.addEventListener("pageshow", back, { once: true });
  setTimeout(back, 20_000); // the reader stayed after all
}

// The notebook of the unit that follows one in its folder's order, or "".
function nextUnit(files, unit, at) {
  const names = files.filter((file) => file.type === "directory" && /^\d\d_/.test(file.name)).map((file) => file.name).sort();
  const name = names[names.indexOf(unit) + 1];
  return names.includes(unit) && name ? at(`${name}/${name}.ipynb`) : "";
}

function titleOf(cells) {
  const texts = (cells ?? []).filter?.((cell) => cell.cell_type === "markdown").map((cell) => [cell.source].flat().join(""));
  return texts?.map((text) => /^# +(.+)$/m.exec(text)?.[1].trim()).find(Boolean) ?? "";
}

function named(cell) {
  const id = questionOf(cell.model.sharedModel.getSource());
  return /^q\d/.test(id) ? `question ${id.slice(1).replaceAll("-", ".")}` : id.replaceAll("-", " ");
}

function isAlive(cell, places) {
  const html = cell.model.outputs.toJSON().map((output) => output.data?.["text/html"]).flat().join("");
  return places.some((place) => html.includes(place));
}

// A picture to look at, shown by this kernel and kept in the file: there is nothing in it to bring to life.
function staysAsItIs(cell) {
  const html = cell.model.outputs.toJSON().map((output) => output.data?.["text/html"]).flat().join("");
  return cell.model.trusted && html !== "" && !html.includes("ab-place-");
}

// The address of another notebook in the view that this one is open in.
export function addressOf(path, from) {
  const here = new URL(window.location.href);
  const encoded = path.split("/").map(encodeURIComponent).join("/");
  if (here.searchParams.has("path")) { // the page with no server
    here.searchParams.set("path", path);
    return here.href;
  }
  const tail = from.split("/").map(encodeURIComponent).join("/");
  if (here.pathname.endsWith(tail)) return here.pathname.slice(0, -tail.length) + encoded;
  const base = JSON.parse(document.getElementById("jupyter-config-data")?.textContent ?? "{}").baseUrl ?? "/";
  return `${base}lab/tree/${encoded}`;
}
