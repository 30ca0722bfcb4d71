// What is due: the model of forgetting of teaching/memory/schedule.py and the sitting of
// teaching/practice/needed.py. MODEL holds the library's own weights; tests hold both halves equal.

const DAY = 86400000; // [ms]
const NEW_A_SITTING = 8; // kinds that a learner has never practiced
const APART = 3; // other cases before a kind comes again, for whoever goes on
const TRIES = 2; // of one kind in a sitting, as long as anything is due
const WEEKDAYS = ["Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"];
const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August",
  "September", "October", "November", "December"];
const [AGAIN, HARD, GOOD, EASY] = [1, 2, 3, 4];

const within = (number, least, most) => Math.min(Math.max(number, least), most);
const daysFrom = (earlier, later) => Math.floor((later - earlier) / DAY);

// To the nearest whole number, of two as near the even one.
function rounded(number) {
  const below = Math.floor(number);
  const rest = number - below;
  return rest > 0.5 || (rest === 0.5 && below % 2) ? below + 1 : below;
}

// How likely a skill is remembered after so many days. [share of 1]
function remembered(stability, days, { weights }) {
  const decay = -weights[20];
  const factor = 0.9 ** (1 / decay) - 1;
  return (1 + factor * Math.max(0, days) / stability) ** decay;
}

const chanceOf = (held, now, model) => (
  remembered(held.stability, daysFrom(held.last, now), model));

// Right and sure is good; right after a hint, unsure or by a guess is hard; wrong is again.
function ratingOf({ right, hinted, sure }, { unsure }) {
  if (!right) return AGAIN;
  return hinted || unsure.includes(sure) ? HARD : GOOD;
}

const firstDifficulty = (rating, w) => w[4] - Math.exp(w[5] * (rating - 1)) + 1;

function nextDifficulty(difficulty, rating, w) {
  const damped = (10 - difficulty) * -(w[6] * (rating - 3)) / 9;
  return within(w[7] * firstDifficulty(EASY, w) + (1 - w[7]) * (difficulty + damped), 1, 10);
}

function sameDayStability(stability, rating, w) {
  const grows = Math.exp(w[17] * (rating - 3 + w[18])) * stability ** -w[19];
  return stability * (rating === AGAIN ? grows : Math.max(grows, 1));
}

function laterStability({ stability, difficulty }, chance, rating, w) {
  if (rating === AGAIN) {
    return Math.min(w[11] * difficulty ** -w[12] * ((stability + 1) ** w[13] - 1)
      * Math.exp((1 - chance) * w[14]), stability / Math.exp(w[17] * w[18]));
  }
  return stability * (1 + Math.exp(w[8]) * (11 - difficulty) * stability ** -w[9]
    * (Math.exp((1 - chance) * w[10]) - 1) * (rating === HARD ? w[15] : 1));
}

// How a skill is held after one more answer: {stability, difficulty, last, right}.
// One dated before the last, as a wrong clock may give, counts as given at the same time.
function heldAfter(held, answer, model) {
  const { weights: w } = model;
  const rating = ratingOf(answer, model);
  if (!held) {
    return { stability: Math.max(w[rating - 1], 0.001),
      difficulty: within(firstDifficulty(rating, w), 1, 10), last: answer.when, right: answer.right };
  }
  const last = Math.max(answer.when, held.last);
  const days = daysFrom(held.last, last);
  const stability = days < 1 ? sameDayStability(held.stability, rating, w)
    : laterStability(held, remembered(held.stability, days, model), rating, w);
  return { stability: Math.max(stability, 0.001),
    difficulty: nextDifficulty(held.difficulty, rating, w), last, right: answer.right };
}

// When it is to come again: after its stability, in whole days.
const dueOf = (held, { longest }) => held.last + within(rounded(held.stability), 1, longest) * DAY;

// As a record's file keeps it.
const toThree = (number) => Number(number.toFixed(3));
const asKept = (held) => ({ ...held, stability: toThree(held.stability),
  difficulty: toThree(held.difficulty) });

// By skill, how it is held after these answers, which stand in order; `told` hears of each.
// An answer dated after today, as a wrong clock gives, is left out until that day.
function heldBy(answers, now, model, told = () => {}) {
  const held = new Map();
  for (const answer of answers) {
    if (answer.when > now + DAY) continue;
    const before = held.get(answer.skill);
    const [stability, difficulty] = answer.holds || [];
    const after = before || !stability ? asKept(heldAfter(before, answer, model))
      : { stability, difficulty, last: answer.when, right: answer.right };
    held.set(answer.skill, after);
    told(answer, after);
  }
  return held;
}

// Of these skills those that are due, the longest not met first.
function dueNow(skills, held, now, model) {
  return skills.filter((skill) => held.has(skill) && dueOf(held.get(skill), model) <= now)
    .sort((a, b) => held.get(a).last - held.get(b).last);
}

function parted(skill) {
  const at = skill.indexOf(": ");
  return at < 0 ? [skill, ""] : [skill.slice(0, at), skill.slice(at + 2)];
}

function ago(when, now) {
  const days = daysFrom(when, now);
  return days < 1 ? "today" : days === 1 ? "yesterday" : `${days} days ago`;
}

const kindsAre = (count) => (count === 1 ? "1 kind of case is" : `${count} kinds of case are`);

// One sitting: due and new kinds by turns, then weak and missed ones.
// `memory` tells {held, now}: a Map of how each skill is held, and the time.
class Sitting {
  constructor(memory, skills, model) {
    this.memory = memory;
    this.skills = skills;
    this.model = model;
    this.asked = [];
    this.missed = new Set();
    this.fresh = 0;
    this.dueWasLast = false;
  }

  // What to ask next, {skill, why}; null where nothing is due. `more` goes on all the same.
  choose(more = false) {
    const { held, now } = this.memory();
    const left = this.skills.filter((skill) => !this.asked.includes(skill));
    const fresh = this.fresh === NEW_A_SITTING ? [] : left.filter((skill) => !held.has(skill));
    const due = dueNow(left, held, now, this.model);
    if (due.length && !(fresh.length && this.dueWasLast)) {
      const skill = this.ofAnotherTopic(due);
      const [topic] = parted(skill);
      this.dueWasLast = true;
      return this.ask(skill, `${topic[0].toUpperCase()}${topic.slice(1)} is due: you last met this `
        + `kind ${ago(held.get(skill).last, now)}.`);
    }
    this.dueWasLast = false;
    if (fresh.length) {
      this.fresh += 1;
      return this.ask(this.ofAnotherTopic(fresh), "You have not practiced this kind yet.");
    }
    const weak = left.filter((skill) => held.has(skill) && !held.get(skill).right);
    if (weak.length) {
      return this.ask(this.ofAnotherTopic(weak), "It was not right when this kind last came.");
    }
    const again = [...this.missed].find((skill) => this.timesAsked(skill) < TRIES);
    if (again) {
      return this.ask(again, "You missed a patient of this kind in this sitting. Here is another "
        + "one.");
    }
    return more ? this.weakest(held, now) : null;
  }

  weakest(held, now) {
    const known = this.skills.filter((skill) => held.has(skill));
    const lately = this.asked.slice(-APART);
    const others = known.filter((skill) => !lately.includes(skill));
    const rested = others.length ? others : known;
    if (!rested.length) return null;
    const chance = (skill) => chanceOf(held.get(skill), now, this.model);
    const weakest = [...rested].sort((a, b) => (
      this.timesAsked(a) - this.timesAsked(b) || chance(a) - chance(b)));
    return this.ask(this.ofAnotherTopic(weakest.slice(0, APART)),
      "Nothing is due, and this is one of the kinds that you hold least firmly.");
  }

  heard(right) {
    const skill = this.asked.at(-1);
    if (right) this.missed.delete(skill);
    else this.missed.add(skill);
  }

  whenToComeBack() {
    const { held } = this.memory();
    const met = this.skills.filter((skill) => held.has(skill));
    if (!this.skills.length) {
      return "Practice a topic first. What you have met there comes back here at the right time.";
    }
    if (!met.length) return "Come back tomorrow.";
    const days = met.map((skill) => dueOf(held.get(skill), this.model)).sort((a, b) => a - b);
    const first = new Date(days[0]);
    const midnight = new Date(first.getFullYear(), first.getMonth(), first.getDate() + 1);
    const count = days.filter((day) => day < midnight).length;
    const fresh = this.skills.length - met.length;
    const day = `${WEEKDAYS[first.getDay()]}, ${MONTHS[first.getMonth()]} ${first.getDate()}`;
    return `Come back on ${day}. Then ${kindsAre(count)} due.`
      + (fresh ? ` ${fresh} kinds are new to you, and come in later sittings.` : "");
  }

  ask(skill, why) {
    this.asked.push(skill);
    return { skill, why: `Why this now: ${why}` };
  }

  timesAsked(skill) { return this.asked.filter((one) => one === skill).length; }

  ofAnotherTopic(skills) {
    const last = this.asked.length ? parted(this.asked.at(-1))[0] : "";
    return skills.find((skill) => parted(skill)[0] !== last) || skills[0];
  }
}
