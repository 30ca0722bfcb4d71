// One learner's practice of a topic drawn ahead: the run of teaching/practice, told from plain data.
// Every key, reason and sentence about a case was written by the library; nothing is read here.

const LATELY = 4; // stories that do not come again at once when a new round begins

function shuffled(items, random) {
  const mixed = [...items];
  for (let last = mixed.length - 1; last > 0; last--) {
    const other = Math.floor((last + 1) * random());
    [mixed[last], mixed[other]] = [mixed[other], mixed[last]];
  }
  return mixed;
}

const timesOf = (counted, name) => counted.get(name) || 0;

function leastOf(items, of) {
  const least = Math.min(...items.map(of));
  return items.filter((one) => of(one) === least);
}

// A case in full: {} takes the next of its values, {0} repeats one.
function unpacked(topic, [frameAt, patientAt, story, joined]) {
  const values = joined.split("|");
  const [key, tableAt, ...places] = topic.frames[frameAt];
  let next = 0;
  const filled = (place) => topic.texts[place]
    .replace(/\{(\d*)\}/g, (_, earlier) => values[earlier === "" ? next++ : Number(earlier)]);
  // A text, or its sentences; -1 or none where there is no such text.
  const text = (place) => (Array.isArray(place)
    ? place.map(filled).join(" ") || (place.length ? "" : null)
    : place < 0 ? null : filled(place));
  const inOrder = topic.scenes ? [patientAt, tableAt, ...places] : [tableAt, patientAt, ...places];
  const [first, second, ...texts] = inOrder.map(text);
  const [table, patient] = topic.scenes ? [second, first] : [first, second];
  const [columns, ...rows] = table === "" ? [[]] : table.split("\n").map((row) => row.split("\t"));
  if (topic.lines.length) return { story, patient, columns, rows, ...gasOf(topic, key, texts) };
  const notes = texts.slice(2, 2 + topic.options);
  const rest = texts.slice(2 + topic.options);
  const choices = topic.choices.length
    ? topic.choices.map((word) => ({ word, text: word }))
    : rest.splice(0, topic.options).filter((cell) => cell !== null).map((cell) => {
      const [word, said] = cell.split("\t");
      return { word, text: said };
    });
  const textOf = (word) => choices.find((one) => one.word === word).text;
  const best = textOf(choices[key].word);
  return {
    story, patient, choices, key: choices[key].word, columns, rows,
    verdicts: { right: texts[0].replace("\v", best), wrong: texts[1].replace("\v", best) },
    notes: Object.fromEntries(choices.map(({ word }, at) => [word, notes[at]])),
    why: rest.filter((line) => line !== null).map((line) => {
      const [unless, said] = line.split("\t");
      return { unless, said: unless ? said.replace("\v", textOf(unless)) : said };
    }),
  };
}

// All lines of a whole gas as one text.
const inOne = (lines) => Object.entries(lines).map((one) => one.join(": ")).join("; ");

// The lines of a whole gas: the right word of each, what settles it, and why another word falls.
function gasOf({ lines }, keyPlaces, texts) {
  const falls = texts.slice(lines.length);
  const told = lines.map(({ name, words }, at) => [name, {
    key: words[keyPlaces[at]], rule: texts[at],
    falls: Object.fromEntries(words.map((word) => [word, falls.shift() || ""])),
  }]);
  const keys = Object.fromEntries(told.map(([name, { key }]) => [name, key]));
  return { choices: [], lines: Object.fromEntries(told), keys, key: inOne(keys) };
}

class PracticeRun {
  constructor(topic, { step = 0, random = Math.random } = {}) {
    this.topic = topic;
    const named = (rows) => rows.map((row) => row.map((place) => topic.names[place]));
    this.missed = named(topic.missed); // by step and wish
    this.people = named(topic.people);
    this.random = random;
    this.lastStep = topic.steps.length - 1;
    this.step = Math.max(0, Math.min(this.lastStep, step));
    this.read = 0;
    this.moved = this.chosen = "";
    this.right = new Map();
    this.wrong = new Map();
    this.seen = new Set();
    this.told = new Map();
    this.rounds = new Map();
    this.lately = [];
    this.row = 0; // right answers in a row, counted below zero where they are wrong
    this.wordsInRow = new Set(); // right answers given since the last wrong one
    this.kinds = new Map(); // how often each finding of a scene has been told
    this.met = new Map(); // and each person
    this.bringNext();
  }

  get key() { return this.case.key; }

  get about() { return this.topic.scenes ? this.missedBy : this.case.keys?.disorder ?? this.key; }

  // Which kind of case this is, as it is remembered.
  get kind() { return this.topic.scenes ? `step ${this.stepOfCase + 1}` : this.about; }

  // What was chosen on each line of a whole gas.
  get lines() {
    return Object.fromEntries(this.chosen.split("; ").map((one) => one.split(": ")));
  }

  get marked() {
    return !this.chosen || !this.topic.lines.length ? [] : Object.entries(this.lines)
      .map(([line, yours]) => {
        const { key, rule, falls } = this.case.lines[line];
        return { line, yours, key, right: yours === key, rule, falls: falls[yours] };
      });
  }

  // What a record keeps of the answer, beside its kind and whether it is right.
  given() {
    const missed = this.marked.filter(({ right }) => !right);
    const of = (name) => inOne(Object.fromEntries(missed.map((row) => [row.line, row[name]])));
    return this.topic.lines.length
      ? { answered: of("yours"), key: of("key"), missed: missed.map(({ line }) => line) }
      : { answered: this.chosen, key: this.key, missed: [] };
  }

  // A word, or of a whole gas {line: word} with a word on every line.
  answer(choice) {
    if (this.chosen) return;
    const { lines } = this.topic;
    const offered = lines.length ? lines.every(({ name, words }) => words.includes(choice[name]))
      : this.case.choices.some(({ word }) => word === choice);
    if (!offered) return;
    this.chosen = !lines.length ? choice
      : inOne(Object.fromEntries(lines.map(({ name }) => [name, choice[name]])));
    const right = this.chosen === this.key;
    const counted = right ? this.right : this.wrong;
    counted.set(this.about, (counted.get(this.about) || 0) + 1);
    this.move(right);
  }

  next() {
    this.read += 1;
    this.chosen = this.moved = "";
    this.bringNext();
  }

  // The next case is one of a kind, at this step or at the nearest that has one.
  nextAbout(kind) {
    this.read += 1;
    this.chosen = this.moved = "";
    const storyAt = ([step, wish, at]) => this.topic.steps[step][wish][at][2];
    const nearest = [...this.topic.steps.keys()]
      .sort((a, b) => Math.abs(a - this.step) - Math.abs(b - this.step));
    const ofKind = nearest.map((step) => this.placesOf(kind, step)).find(({ length }) => length);
    if (!ofKind) { this.bringNext(); return; }
    const others = ofKind.filter((place) => !this.lately.includes(storyAt(place)));
    const able = leastOf(others.length ? others : ofKind,
      (place) => timesOf(this.told, storyAt(place)));
    const fresh = able.filter((place) => !this.seen.has(place.join()));
    this.bring(this.pick(fresh.length ? fresh : able));
  }

  placesOf(kind, step) {
    const { scenes, frames, choices, lines, steps } = this.topic;
    const named = lines.findIndex(({ name }) => name === "disorder");
    const kindOf = (key) => (named < 0 ? choices[key] : lines[named].words[key[named]]);
    if (scenes && kind !== `step ${step + 1}`) return [];
    return steps[step].flatMap((cases, wish) => [...cases.keys()]
      .filter((at) => scenes || kindOf(frames[cases[at][0]][0]) === kind)
      .map((at) => [step, wish, at]));
  }

  bringNext() { this.bring(this.found()); }

  bring(found) {
    const [step, wish, at] = found;
    this.seen.add(found.join());
    this.stepOfCase = step;
    this.wishOfCase = wish;
    this.missedBy = this.missed[step][wish];
    if (this.topic.scenes) {
      const person = this.people[step][wish];
      this.kinds.set(this.missedBy, timesOf(this.kinds, this.missedBy) + 1);
      this.met.set(person, timesOf(this.met, person) + 1);
    }
    this.case = unpacked(this.topic, this.topic.steps[step][wish][at]);
    if (this.topic.scenes) this.deal();
    this.told.set(this.case.story, (this.told.get(this.case.story) || 0) + 1);
    this.lately = [...this.lately, this.case.story].slice(-LATELY);
  }

  // A scene's options in a new order, and the reasons of those that do not come first with them.
  deal() {
    const now = this.case;
    now.choices = shuffled(now.choices, this.random);
    const place = ({ unless }) => now.choices.findIndex(({ word }) => word === unless);
    const dealt = now.why.filter(({ unless }) => unless).sort((a, b) => place(a) - place(b));
    now.why = now.why.map((line) => (line.unless ? dealt.shift() : line));
  }

  // A case of none of the stories told in this round; then ever less is left out.
  found() {
    for (;;) {
      const round = this.rounds.get(this.step) || 0;
      const told = [...this.told].filter(([, times]) => times > round).map(([story]) => story);
      for (let near = this.lately.length; near >= 0; near--) {
        const leftOut = new Set([...told, ...this.lately.slice(this.lately.length - near)]);
        const found = this.draw(leftOut);
        if (found) return found;
      }
      this.rounds.set(this.step, round + 1);
    }
  }

  draw(leftOut) { return this.topic.scenes ? this.drawScene(leftOut) : this.drawPatient(leftOut); }

  // Places of a patient of this step; what was missed comes more often.
  drawPatient(leftOut) {
    const wishes = this.missed[this.step].flatMap((about, wish) => (
      Array(1 + Math.min(2, timesOf(this.wrong, about))).fill(wish)));
    for (const wish of shuffled(wishes, this.random)) {
      const found = this.oneOf(this.step, wish, leftOut);
      if (found) return found;
    }
    return null;
  }

  // Places of a scene of this step, or of the nearest: findings and the people in whom they are met
  // take turns, and a finding that was missed comes sooner.
  drawScene(leftOut) {
    const { missed, people, topic: { steps } } = this;
    const nearest = [...steps.keys()]
      .sort((a, b) => Math.abs(a - this.step) - Math.abs(b - this.step));
    for (const step of nearest) {
      const left = steps[step].map((scenes, wish) => ({
        wish, story: scenes[0][2], kind: missed[step][wish], person: people[step][wish],
      })).filter(({ story }) => !leftOut.has(story));
      const others = left.filter(({ kind }) => !this.read || kind !== this.missedBy);
      const able = others.length ? others : left;
      const turn = ({ kind }) => timesOf(this.kinds, kind)
        - Math.max(0, Math.min(2, timesOf(this.wrong, kind) - timesOf(this.right, kind)));
      const kinds = [...new Set(leastOf(able, turn).map(({ kind }) => kind))];
      const kind = this.pick(kinds);
      const here = leastOf(able.filter((one) => one.kind === kind),
        ({ person }) => timesOf(this.met, person));
      if (here.length) return this.oneOf(step, this.pick(here).wish, leftOut);
    }
    return null;
  }

  pick(items) { return items[Math.floor(items.length * this.random())]; }

  // One of a wish's cases whose story is not left out; one that was not seen yet, if there is any.
  oneOf(step, wish, leftOut) {
    const able = [...this.topic.steps[step][wish].entries()]
      .filter(([, one]) => !leftOut.has(one[2])).map(([at]) => [step, wish, at]);
    const fresh = able.filter((place) => !this.seen.has(place.join()));
    const from = fresh.length ? fresh : able;
    return from.length ? this.pick(from) : null;
  }

  move(right) {
    const { needed, lowered_by: lowered } = this.topic;
    this.wordsInRow = new Set(right ? [...this.wordsInRow, this.chosen] : []);
    if (right && this.wordsInRow.size < 2) { // the same word to everybody is no reading
      this.row = Math.min(this.row, needed - 2);
    }
    this.row = right ? Math.max(this.row, 0) + 1 : Math.min(this.row, 0) - 1;
    if (this.row >= needed && this.step < this.lastStep) {
      this.step += 1;
      this.row = 0;
      this.wordsInRow = new Set();
      this.moved = this.topic.up[this.step];
    } else if (this.row <= -lowered && this.step > 0) {
      this.step -= 1;
      this.row = 0;
      this.moved = this.topic.down[this.step];
    }
    this.row = Math.max(-lowered, Math.min(this.row, needed));
  }

  said(word) {
    const { said } = this.topic;
    if (!this.chosen) return "";
    if (word === this.key) return word === this.chosen ? said.right : said.key;
    return word === this.chosen ? said.mine : "";
  }

  // Everything that the screen shows, as teaching/widgets/static/practice.js draws it.
  view(caution) {
    const { topic, case: now, chosen } = this;
    const right = chosen === now.key;
    if (topic.lines.length) return this.gasView(caution);
    return {
      title: `${topic.title} ${this.read + 1}`, next: topic.next,
      step: this.moved || topic.says[this.step][this.stepOfCase],
      patient: now.patient, caption: topic.caption, columns: now.columns, rows: now.rows,
      long: topic.long, question: topic.question,
      choices: now.choices.map(({ word, text }) => ({ word, text, said: this.said(word) })),
      chosen, answered: chosen !== "",
      verdict: chosen && (right ? now.verdicts.right : now.verdicts.wrong),
      notes: chosen && !right ? now.notes[chosen].split("\n") : [],
      why: chosen ? now.why.filter(({ unless }) => !unless || unless !== chosen)
        .map(({ said }) => said) : [],
      progress: this.progress(), caution,
    };
  }

  gasView(caution) {
    const { topic, case: now, chosen, marked } = this;
    const lines = chosen ? this.lines : {};
    const rights = marked.filter(({ right }) => right).length;
    return {
      title: `${topic.title} ${this.read + 1}`, next: topic.next,
      step: this.moved || topic.says[this.step][this.stepOfCase],
      patient: now.patient, caption: topic.caption, columns: now.columns, rows: now.rows,
      long: topic.long, question: topic.question, choices: [],
      lines: topic.lines.map(({ name, words }) => ({ name, words, chosen: lines[name] || "" })),
      go: topic.go, chosen, answered: chosen !== "",
      verdict: !chosen ? "" : rights === marked.length ? "All seven lines are right."
        : `${rights} of ${marked.length} lines are right.`,
      notes: [], why: [], marked, progress: this.progress(), caution,
    };
  }

  progress() {
    const sum = (counted) => [...counted.values()].reduce((total, times) => total + times, 0);
    const right = sum(this.right);
    const count = right + sum(this.wrong);
    if (!count) return "Nothing is marked. Stop whenever you like.";
    if (this.topic.scenes) {
      return `So far: ${count} ${count === 1 ? "scene" : "scenes"}, ${right} answered right.`;
    }
    if (this.topic.lines.length) {
      return `So far: ${count} ${count === 1 ? "gas" : "gases"} read, ${right} wholly right.`;
    }
    const said = `So far: ${count} ${count === 1 ? "patient" : "patients"} read`
      + (right ? `, ${right} named right.` : ".");
    // The most often missed first; of two missed as often, the one missed first.
    const missed = [...this.wrong].filter(([name, times]) => times > (this.right.get(name) || 0))
      .sort(([, a], [, b]) => b - a).map(([name]) => name);
    if (missed.length) return `${said} Worth another look: ${missed[0]}.`;
    const rest = this.topic.choices.filter(
      (name) => !this.right.has(name) && !this.wrong.has(name));
    return rest.length ? `${said} Not met yet: ${rest.join(", ")}.` : said;
  }
}
