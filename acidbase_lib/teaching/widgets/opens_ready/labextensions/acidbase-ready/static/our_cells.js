// Which cells are the kit's own, told by their whole text and nothing else: a file may come from a
// stranger, and what stands here runs by itself when the file is opened.
//
// Each pattern is a whole cell with no room for other code: names and plain words, no backslash, no
// quotation mark inside a word, no line but those given. (`$` without the flag `m` is the very end.)

const SETUP = new RegExp("^from acidbase_lib import open_unit\\nunit = open_unit\\("
  + '"([0-9a-z_]{1,60})", form=([1-9][0-9]{0,5})(?:, picks="([0-9a-z]{1,99})")?'
  + '(?:, order="([0-9a-z]{1,99})")?(?:, counts="(?:first try|last try|mended half)")?'
  // a school's own questions, packed, and its settings: no quotation mark that ends them, and
  // backslashes in pairs alone, which are no escape
  + '(?:, questions="(?:text|toml)\\.[0-9a-f]{12}\\.[A-Za-z0-9_=-]{1,400000}")?'
  + "(?:, school='(?:[ -&(-\\[\\]-~]|\\\\\\\\){1,4000}')?\\)$");
// A page that stands alone: the learner's home, and the desk for questions of one's own.
const HOME = new RegExp("^from acidbase_lib import open_home\\nopen_home\\(\\)$"
  + "|^from acidbase_lib\\.classroom\\.question_desk\\.question_desk import open_questions\\nopen_questions\\(\\)$");
// What follows an answer's first line is data: the magic of the kit's own unit reads it. The first line
// itself is not: IPython puts values in for {...} and $... in it.
const ANSWER = /^%%chart ([0-9A-Za-z][0-9A-Za-z-]{0,40})(?:\n[^]*)?$/;
const PICTURE = /^from acidbase_lib import ((?:explore|show)_[a-z_]{1,40})\n\1\((?:"[a-z_]{1,40}")?\)$/;
const CALL = /^unit\.([a-z_]{1,30})\((?:"[0-9A-Za-z][0-9A-Za-z -]{0,60}")?\)$/;

// Methods of a unit: those that show something to work with start by themselves, those that look back
// wait for a press, checks are not needed where answers are kept at once.
const STARTS = new Set(["practice", "opening"]);
const WAITS = new Set(["review", "result", "twins"]);

// Return "setup", "home", "answer", "picture", "practice", "look back", "check", or "" for any other cell.
export function kindOf(source) {
  if (typeof source !== "string") return "";
  if (SETUP.test(source)) return "setup";
  if (HOME.test(source)) return "home";
  if (ANSWER.test(source)) return "answer";
  if (PICTURE.test(source)) return "picture";
  const called = CALL.exec(source)?.[1];
  if (called === "check") return "check";
  if (called === "glossary") return "picture"; // to look at, like one
  if (STARTS.has(called)) return "practice";
  return WAITS.has(called) ? "look back" : "";
}

// The unit, form, picks and order that a setup cell opens, as the kernel tells them of the unit that is open.
export function openedBy(source) {
  return (SETUP.exec(source) ?? []).slice(1, 5).map((word) => word ?? "").join("|");
}

// Return what starts by itself in a notebook: `cells` are {type, source} in order. Nothing does unless the
// very first code cell opens a unit (or the home page): no other code can have stood before it.
export function planOf(cells) {
  const kinds = cells.map((cell) => (cell.type === "code" ? kindOf(cell.source) : ""));
  const first = cells.findIndex((cell) => cell.type === "code" && cell.source.trim() !== "");
  const what = first < 0 ? "" : kinds[first];
  if (what !== "setup" && what !== "home") return { what: "", first: -1, kinds: [], starts: [] };
  const starts = what === "home" ? [first] : kinds.flatMap((kind, place) =>
    (place === first || ["answer", "picture", "practice"].includes(kind) ? [place] : []));
  return { what, first, kinds, starts };
}

// ---- what an answer cell still lacks ----

const RESERVED = /^(how sure|check|reason)\s*:/i; // lines of an answer that are no part of it

// Return "empty", "begun" or "answered".
export function stateOf(source) {
  const lines = source.split("\n").slice(1).map((line) => line.trim())
    .filter((line) => line && !line.startsWith("#") && !RESERVED.test(line));
  const empty = lines.filter((line) => line.endsWith(":") && line.indexOf(":") === line.length - 1);
  if (empty.length === lines.length) return "empty";
  return empty.length ? "begun" : "answered";
}

// The question that an answer cell asks, such as "q2-4".
export function questionOf(source) {
  return ANSWER.exec(source)?.[1] ?? "";
}
