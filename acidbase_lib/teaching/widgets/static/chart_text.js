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

// A reserved line of every question; no field, so no form part, but a text ends where it begins.
export const SURE = { name: "how sure", names: ["how sure"], kind: "one" };

function namesOf(fields) {
  return new Map([...fields, SURE].flatMap((field) => field.names.map((name) => [name, field])));
}

export function readLines(source, fields) {
  const names = namesOf(fields);
  let current = null;
  return source.split("\n").map((raw) => {
    const text = raw.trim();
    if (!text || text.startsWith("#") || text.startsWith("%%")) return { raw, field: null };
    const colon = raw.indexOf(":");
    const field = colon < 0 ? undefined : names.get(fold(raw.slice(0, colon)));
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
  const names = namesOf(fields);
  const kept = [];
  for (const line of value.split(BREAKS).map((part) => part.trim()).filter(Boolean)) {
    const colon = line.indexOf(":");
    const misread = /^(#|%%)/.test(line) || (colon >= 0 && names.has(fold(line.slice(0, colon))));
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
