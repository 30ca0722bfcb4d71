// One learner's practice of a topic drawn ahead: the run of teaching/practice, told from plain data.
// Every key, reason and sentence about a case was written by the library; nothing is read here.

const UP = 2, DOWN = 2; // right answers in a row that raise the step, wrong ones that lower it
const LATELY = 4; // stories that do not come again at once when a new round begins

function shuffled(items, random) {
  const mixed = [...items];
  for (let last = mixed.length - 1; last > 0; last--) {
    const other = Math.floor((last + 1) * random());
    [mixed[last], mixed[other]] = [mixed[other], mixed[last]];
  }
  return mixed;
}

// A case in full: {} takes the next of its values, {0} repeats one.
function unpacked(topic, [frameAt, patientAt, story, joined]) {
  const values = joined.split("|");
  const [key, tableAt, ...places] = topic.frames[frameAt];
  let next = 0;
  const text = (place) => topic.texts[place]
    .replace(/\{(\d*)\}/g, (_, earlier) => values[earlier === "" ? next++ : Number(earlier)]);
  const table = text(tableAt);
  const patient = text(patientAt);
  const texts = places.map((place) => (place < 0 ? null : text(place)));
  const notes = texts.slice(2, 2 + topic.options);
  const rest = texts.slice(2 + topic.options);
  const choices = topic.choices.length
    ? topic.choices.map((word) => ({ word, text: word }))
    : rest.splice(0, topic.options).filter((cell) => cell !== null).map((cell) => {
      const [word, said] = cell.split("\t");
      return { word, text: said };
    });
  return {
    story, patient, choices, key: choices[key].word,
    rows: table === "" ? [] : table.split("\n").map((row) => row.split("\t")),
    verdicts: { right: texts[0], wrong: texts[1] },
    notes: Object.fromEntries(choices.map(({ word }, at) => [word, notes[at]])),
    why: rest.filter((line) => line !== null).map((line) => {
      const [unless, said] = line.split("\t");
      return { unless, said };
    }),
  };
}

class PracticeRun {
  constructor(topic, { step = 0, random = Math.random } = {}) {
    this.topic = topic;
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
    this.bringNext();
  }

  get key() { return this.case.key; }

  get about() { return this.topic.scenes ? this.missedBy : this.key; }

  answer(choice) {
    if (this.chosen || !this.case.choices.some(({ word }) => word === choice)) return;
    this.chosen = choice;
    const right = choice === this.key;
    const counted = right ? this.right : this.wrong;
    counted.set(this.about, (counted.get(this.about) || 0) + 1);
    this.move(right);
  }

  next() {
    this.read += 1;
    this.chosen = this.moved = "";
    this.bringNext();
  }

  bringNext() {
    const found = this.found();
    const [step, wish, at] = found;
    this.seen.add(found.join());
    this.stepOfCase = step;
    this.missedBy = this.topic.missed[step][wish];
    this.case = unpacked(this.topic, this.topic.steps[step][wish][at]);
    this.told.set(this.case.story, (this.told.get(this.case.story) || 0) + 1);
    this.lately = [...this.lately, this.case.story].slice(-LATELY);
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

  // Places of a case: of this step, or for scenes of the nearest; what was missed comes more often.
  draw(leftOut) {
    const steps = this.topic.scenes
      ? [...this.topic.steps.keys()].sort((a, b) => Math.abs(a - this.step) - Math.abs(b - this.step))
      : [this.step];
    for (const step of steps) {
      const wishes = this.topic.missed[step].flatMap((about, wish) => (
        Array(1 + this.timesMissed(about)).fill(wish)));
      for (const wish of shuffled(wishes, this.random)) {
        const able = [...this.topic.steps[step][wish].entries()]
          .filter(([, one]) => !leftOut.has(one[2])).map(([at]) => [step, wish, at]);
        const fresh = able.filter((place) => !this.seen.has(place.join()));
        const from = fresh.length ? fresh : able;
        if (from.length) return from[Math.floor(from.length * this.random())];
      }
    }
    return null;
  }

  timesMissed(about) {
    const right = this.topic.scenes ? this.right.get(about) || 0 : 0;
    return Math.max(0, Math.min(2, (this.wrong.get(about) || 0) - right));
  }

  move(right) {
    this.row = right ? Math.max(this.row, 0) + 1 : Math.min(this.row, 0) - 1;
    if (this.row >= UP && this.step < this.lastStep) {
      this.step += 1;
      this.row = 0;
      this.moved = this.topic.up[this.step];
    } else if (this.row <= -DOWN && this.step > 0) {
      this.step -= 1;
      this.row = 0;
      this.moved = this.topic.down[this.step];
    }
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
    return {
      title: `${topic.title} ${this.read + 1}`, next: topic.next,
      step: this.moved || topic.says[this.step][this.stepOfCase],
      patient: now.patient, caption: topic.caption, columns: topic.columns, rows: now.rows,
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

  progress() {
    const sum = (counted) => [...counted.values()].reduce((total, times) => total + times, 0);
    const right = sum(this.right);
    const count = right + sum(this.wrong);
    if (!count) return "Nothing is marked. Stop whenever you like.";
    if (this.topic.scenes) {
      return `So far: ${count} ${count === 1 ? "scene" : "scenes"}, ${right} answered right.`;
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
