// A number and its unit. The unit may be typed with the number, chosen beside it, or left out.

// "28 mmHg" is a number and its unit, wherever it is typed; a unit said twice is said once.
export function amountAndUnit(text, units) {
  let amount = text.trim().replace(/mm\s+hg/gi, "mmHg");
  let unit = null;
  const last = () => units.find((name) => amount.toLowerCase().endsWith(name.toLowerCase()));
  for (let found = last(); found; found = last()) {
    unit ??= found;
    amount = amount.slice(0, -found.length).trim();
  }
  return { amount, unit };
}

const PLAIN = /^[-+−]?[\d.,]+$/;

function number(field, { id, title, write }) {
  const read = () => amountAndUnit(amount.value, field.units);
  const written = () => {
    const typed = read();
    if (!PLAIN.test(typed.amount)) return amount.value.trim(); // the kernel says what is wrong with it
    return [typed.amount, typed.unit ?? unit.value ?? field.unit].filter(Boolean).join(" ");
  };
  const show = (text) => {
    const typed = amountAndUnit(text, field.units);
    const plain = PLAIN.test(typed.amount);
    amount.value = plain ? typed.amount : text;
    if (plain && typed.unit && unit.value !== undefined) unit.value = typed.unit;
  };
  const amount = make("input", { id, type: "text", inputmode: "decimal", size: "8", autocomplete: "off",
    class: "ab-chart-input", oninput: () => write(written(), true),
    onchange: () => { const value = written(); show(value); write(value); } });
  const unit = field.units.length < 2 ? make("span", {}, field.unit ?? "")
    : make("select", { class: "ab-chart-input", "aria-label": inWords("{title}: unit of {name}", { title, name: field.name }),
      onchange: () => amount.value && write(written()) },
    ...field.units.map((name) => make("option", { value: name }, name)));
  const paint = (_, typed) => { if (document.activeElement !== amount) show(typed); };
  return { box: make("div", { class: "ab-chart-number" }, amount, unit), paint, controls: [amount] };
}
