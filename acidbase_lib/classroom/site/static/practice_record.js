// What was practiced, kept in this browser: one entry of its storage an answer, so that two tabs
// never write over each other. As a file it is the record of teaching/memory/record.py, line by line.

const KEPT = "acidbase-practice/"; // before each entry; after it, the place in the order
const ASIDE = "acidbase-practice-unread/"; // what was found there and is no answer of ours
const WHEN = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)?$/;

// An answer from its line, or an error: what an older version did not write is left out.
function answerOf(row, sures) {
  const [, , , zone] = WHEN.exec(row.when) || [];
  const when = Date.parse(zone ? row.when : `${row.when}Z`);
  const { skill, right, step = 0, seconds = 0, holds = [] } = row;
  if (!WHEN.test(row.when) || Number.isNaN(when) || typeof skill !== "string"
    || typeof right !== "boolean" || ![step, seconds].every(Number.isSafeInteger) || !Array.isArray(holds)
    || ![0, 2].includes(holds.length)
    || !holds.every((part) => typeof part === "number" && part > 0 && part < 1e6)) {
    throw new Error("no answer of ours");
  }
  return { when, skill, right, sure: sures.includes(row.sure) ? row.sure : "",
    hinted: Boolean(row.hinted), step, answered: String(row.answered ?? ""),
    key: String(row.key ?? ""), missed: [...row.missed ?? []].map(String), seconds, holds };
}

// An answer as its line; what is empty is left out.
function lineOf({ when, skill, right, sure, hinted, step, answered, key, missed, seconds, holds }) {
  const row = { when: new Date(when).toISOString().replace(/\.\d+Z$/, "Z"), skill, right };
  const more = { sure, hinted, step, answered: right ? "" : answered, key: right ? "" : key };
  for (const [name, value] of Object.entries(more)) if (value) row[name] = value;
  if (missed.length) row.missed = missed;
  if (holds.length) row.holds = holds;
  if (seconds) row.seconds = seconds;
  return JSON.stringify(row);
}

const placed = (stamp) => KEPT + String(stamp).padStart(15, "0")
  + `-${Math.random().toString(36).slice(2, 8)}`;
const stampOf = (place) => Number(place.slice(KEPT.length, KEPT.length + 15));

// `storage` returns the browser's own, or throws where it is closed.
class PracticeRecord {
  constructor(storage, { model, sure, head, format }) {
    Object.assign(this, { storage, model, sure, head, format });
    this.held = new Map(); // by place: each answer
    this.unsaved = new Set(); // places that could not be written
    this.closed = false; // storage is full or denied
    this.cleared = false; // what was kept is gone from storage, and this page still has it
    this.setAside = false;
  }

  get answers() { return [...this.held].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, one]) => one); }

  skills(now) { return heldBy(this.answers, now, this.model); }

  // Whether any answer is dated later than today: this clock is wrong now, or was then.
  fromTomorrow(now) { return this.answers.some(({ when }) => when > now + DAY); }

  read() {
    let places;
    try {
      places = Object.keys(this.storage()).filter((place) => place.startsWith(KEPT));
      this.storage().setItem(`${ASIDE}try`, "1");
      this.storage().removeItem(`${ASIDE}try`);
      this.closed = false;
    } catch { this.closed = true; }
    if (!places) return;
    const found = new Set(places);
    if ([...this.held.keys()].some((place) => !found.has(place) && !this.unsaved.has(place))) {
      this.cleared = true;
    }
    for (const place of places) {
      if (this.held.has(place)) continue;
      const text = this.storage().getItem(place);
      try { this.held.set(place, answerOf(JSON.parse(text), this.sure)); } catch {
        this.setAside = true;
        try {
          this.storage().setItem(ASIDE + place.slice(KEPT.length), text);
          this.storage().removeItem(place);
        } catch { /* it is still under its old name */ }
      }
    }
  }

  // Another tab has taken an entry away.
  forget(place) { this.held.delete(place); }

  add(answer) {
    this.read(); // another tab may have added meanwhile
    const last = Math.max(0, ...[...this.held.keys()].map(stampOf));
    const when = Math.floor(answer.when / 1000) * 1000; // as the file has it
    this.put(placed(Math.max(answer.when, last + 1)),
      { sure: "", hinted: false, step: 0, answered: "", key: "", missed: [], seconds: 0, holds: [],
        ...answer, when });
    this.save();
  }

  put(place, answer) {
    this.held.set(place, answer);
    this.unsaved.add(place);
  }

  save() {
    try {
      for (const place of this.unsaved) {
        this.storage().setItem(place, lineOf(this.held.get(place)));
        this.unsaved.delete(place);
      }
      this.closed = false;
    } catch { this.closed = true; }
  }

  // The whole record as the kit's own file.
  text(now) {
    const kept = new Map();
    heldBy(this.answers, now, this.model, (answer, after) => {
      kept.set(answer, [after.stability, after.difficulty]);
    });
    return `${[JSON.stringify(this.head), ...this.answers.map((answer) => (
      lineOf({ ...answer, holds: kept.get(answer) || answer.holds })))].join("\n")}\n`;
  }

  // Add what a file holds and this record does not; an answer brought back twice counts once.
  // Returns how many lines could not be read; an error where the file is no record.
  bring(text) {
    const rows = text.split("\n").filter((line) => line.trim());
    const found = [];
    let damaged = 0;
    let ours = false;
    for (const line of rows) {
      try {
        const row = JSON.parse(line);
        if (Object.hasOwn(row, "practice record")) {
          if (row["practice record"] > this.format) throw new RangeError("newer");
          ours = true;
        } else found.push(answerOf(row, this.sure));
      } catch (error) {
        if (error instanceof RangeError) throw error;
        damaged += 1;
      }
    }
    if (!ours && !found.length) throw new Error("no record");
    this.read();
    const same = (answer) => lineOf({ ...answer, holds: [] });
    const counts = new Map();
    for (const one of this.held.values()) counts.set(same(one), (counts.get(same(one)) || 0) + 1);
    let stamp = 0;
    for (const answer of found) {
      stamp = Math.max(answer.when, stamp + 1);
      const had = counts.get(same(answer)) || 0;
      if (had) counts.set(same(answer), had - 1);
      else this.put(placed(stamp), answer);
    }
    this.save();
    return damaged;
  }

  erase() {
    this.held.clear();
    this.unsaved.clear();
    this.cleared = this.setAside = false;
    try {
      for (const name of Object.keys(this.storage())) {
        if (name.startsWith(KEPT) || name.startsWith(ASIDE)) this.storage().removeItem(name);
      }
    } catch { this.closed = true; }
  }

  // What came of a topic: {answered, right, step}; the step is where its last answer led.
  of(topic) {
    const own = this.answers.filter(({ skill }) => skill.startsWith(`${topic}: `));
    return { answered: own.length, right: own.filter(({ right }) => right).length,
      step: own.length ? own.at(-1).step : 0 };
  }
}
