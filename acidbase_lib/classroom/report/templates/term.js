"use strict";
(() => {
  const table = document.getElementById("tm-table"), body = table.tBodies[0];
  const rows = [...body.rows], form = document.querySelector(".tm-filter");
  const told = document.getElementById("tm-count");
  const of = (id) => (document.getElementById(id) || {}).value || "";
  const show = () => {
    const find = of("tm-find").toLowerCase(), kind = of("tm-show"), section = of("tm-section");
    let count = 0;
    for (const row of rows) {
      const fits = row.cells[0].textContent.toLowerCase().includes(find)
        && (!kind || row.dataset.kinds.split(" ").includes(kind))
        && (!section || row.dataset.section === section);
      row.hidden = !fits;
      count += fits;
    }
    told.textContent = `Showing ${count} of ${rows.length}.`;
  };
  form.hidden = false;
  form.addEventListener("input", show);
  form.addEventListener("submit", (event) => event.preventDefault());
  const value = (row, column) => {
    const cell = row.cells[column];
    const text = cell.dataset.value === undefined ? cell.textContent : cell.dataset.value;
    return text !== "" && !isNaN(text) ? Number(text) : text;
  };
  const before = (a, b) => (typeof a === "number" && typeof b === "number" ? a - b
    : typeof a === "number" ? 1 : typeof b === "number" ? -1 : a.localeCompare(b));
  [...table.tHead.rows[0].cells].forEach((head, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    head.replaceChildren(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      for (const one of table.tHead.rows[0].cells) one.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      rows.sort((a, b) => (down ? -1 : 1) * before(value(a, column), value(b, column)));
      body.append(...rows);
      told.textContent = `Sorted by ${button.textContent}, ${down ? "largest" : "smallest"} first.`;
    });
  });
})();
