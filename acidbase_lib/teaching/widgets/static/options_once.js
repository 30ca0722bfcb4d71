// Options that stand word for word in the form are not shown a second time in the question above it.
// The notebook keeps the list: for paper, for grading, and for whoever has no form.

const IN_FORM = "ab-in-form"; // chart_form.css: left out on a screen, there on paper
const BESIDE = ".ab-chart-mark, .ab-chart-word, .ab-chart-unseen, button";

// What an element says, without the signs that the form puts beside its options.
function textOf(node) {
  const parts = [...node.childNodes].map((child) =>
    (child.nodeType === Node.TEXT_NODE ? child.data : child.matches?.(BESIDE) ? "" : textOf(child)));
  return parts.join("").replace(/\s+/g, " ").trim();
}

// `frames` are the elements of the fields. Returns `look`, called whenever the page has changed, and
// `stop`, which gives back what was left out.
function optionsOnce(el, frames) {
  const offered = () => frames.map((frame) =>
    new Set([...frame.querySelectorAll(".ab-chart-text, .ab-chart-step")].map(textOf)));
  let left = [];
  const stop = () => {
    for (const list of left) list.classList.remove(IN_FORM);
    left = [];
  };
  const look = () => {
    const cell = el.closest(".jp-Cell");
    if (!cell || el.closest("[hidden], .lm-mod-hidden")) return stop(); // its output is cleared or folded away
    const prompt = cell.previousElementSibling;
    if (!prompt?.classList.contains("jp-MarkdownCell")) return; // cells far from what is read stand in no page
    if (left.length && left.every((list) => prompt.contains(list) && list.classList.contains(IN_FORM))) return;
    const lists = prompt.querySelectorAll(".jp-RenderedMarkdown > ul");
    if (!lists.length) return;
    const fields = offered();
    left = [...lists].filter((list) => {
      const items = [...list.children].map(textOf);
      return fields.some((words) => items.every((item) => words.has(item)));
    });
    for (const list of left) list.classList.add(IN_FORM);
  };
  return { look, stop };
}
