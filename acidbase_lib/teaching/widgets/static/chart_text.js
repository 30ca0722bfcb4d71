// A chart cell's text: which line holds which field, and how one value is put into it.
// The same reading of lines as chart.py has; a test holds the two together.

export const HEAD = /^\s*%%chart\s+(\S+)/;
const BREAKS = /[\r\n\v\f\x1c-\x1e\x85\u2028\u2029]+/;

export function fold(text) {
  const plain = text.normalize("NFKC").toLowerCase().trim();
  return plain
    .replace(/^["'`*_]+|["'`*_]+$/g, "")
    .replace(/[.!?]+$/, "")
    .replace(/[-–]/g, " ")
    .replace(/\s+/g, " ")
    .trim();
}

// The line that says how sure one is, as a field of its own; a form that asks for it adds it.
export const SURE = { name: "how sure", names: ["how sure"], kind: "one" };

// Lines that every cell may hold and that are no part of its answer, as answer_text.py has them.
const RESERVED = { "how sure": ["sure", "unsure", "guess"], check: ["now", "hint", "reading"],
  reason: ["a", "b", "c", "d"] };

function isReserved(name, value, current) {
  if (!Object.hasOwn(RESERVED, name)) return false;
  return RESERVED[name].includes(fold(value))
    || (current?.kind !== "text" && (!value || name === SURE.name));
}

function fieldsByName(fields) {
  return new Map(fields.flatMap((field) => field.names.map((name) => [name, field])));
}

export function readLines(source, fields) {
  const names = fieldsByName(fields);
  let current = null;
  return source.split("\n").map((raw) => {
    const text = raw.trim();
    if (!text || text.startsWith("#") || text.startsWith("%%")) return { raw, field: null };
    const colon = raw.indexOf(":");
    const name = colon < 0 ? "" : fold(raw.slice(0, colon));
    const field = colon < 0 ? undefined : names.get(name);
    if (!field && isReserved(name, raw.slice(colon + 1).trim(), current)) return { raw, field: null };
    if (field) {
      current = field;
      return { raw, field, head: raw.slice(0, colon + 1), value: raw.slice(colon + 1).trim() };
    }
    if (current?.kind === "text") return { raw, field: current, head: null, value: text };
    if (colon < 0 && fields.length === 1) return { raw, field: fields[0], head: null, value: text };
    return { raw, field: null };
  });
}

export function valueIn(source, fields, name) {
  return readLines(source, fields)
    .filter((line) => line.field?.name === name && line.value)
    .map((line) => line.value)
    .join("\n");
}

// A line of a longer text that would be read as something else joins the line before it.
export function cellLines(value, fields) {
  const names = fieldsByName(fields);
  const kept = [];
  for (const line of value.split(BREAKS).map((part) => part.trim()).filter(Boolean)) {
    const colon = line.indexOf(":");
    const name = colon < 0 ? "" : fold(line.slice(0, colon));
    const misread = /^(#|%%)/.test(line) || names.has(name) || Object.hasOwn(RESERVED, name);
    if (misread && kept.length) kept[kept.length - 1] += ` ${line}`;
    else kept.push(line);
  }
  return kept.length ? kept : [""];
}

// The source with one field's value put in; every other line stays as it was typed.
export function withValue(source, fields, name, value) {
  const field = fields.find((one) => one.name === name);
  const lines = readLines(source, fields);
  const [first, ...rest] = cellLines(value, fields);
  const out = [];
  let written = false;
  for (const line of lines) {
    if (line.field !== field) out.push(line.raw);
    else if (!written) {
      out.push(`${line.head ?? `${name}:`} ${first}`.trimEnd(), ...rest);
      written = true;
    } else if (line.head && field.kind !== "text") out.push(line.head);
  }
  if (written || !value.trim()) return out.join("\n");
  out.splice(placeOf(field, fields, lines), 0, `${name}: ${first}`, ...rest);
  return out.join("\n");
}

// A missing line goes below the fields before it; a text goes last, or it would swallow lines.
function placeOf(field, fields, lines) {
  let end = lines.length;
  while (end > 1 && !lines[end - 1].raw.trim()) end -= 1;
  if (field.kind === "text") return end;
  const before = fields.slice(0, fields.indexOf(field));
  const last = lines.findLastIndex((line) => before.includes(line.field));
  return last < 0 ? end : last + 1;
}
