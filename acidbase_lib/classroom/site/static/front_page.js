// What this browser keeps of each unit: says so, hands it out as a file, and deletes it when asked.

// Looks before opening: to open a store that is not there would make an empty one.
async function openStore() {
  const known = await indexedDB.databases?.();
  if (known && !known.some((one) => one.name === STORE)) return null;
  return new Promise((done, fail) => {
    const asked = indexedDB.open(STORE);
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
}

async function inStore(mode, use) {
  const store = await openStore();
  if (!store) return undefined;
  try {
    if (!store.objectStoreNames.contains("files")) return undefined;
    return await new Promise((done, fail) => {
      const work = store.transaction("files", mode);
      const asked = use(work.objectStore("files"));
      work.oncomplete = () => done(asked.result);
      work.onerror = () => fail(work.error);
    });
  } finally {
    store.close();
  }
}

const say = (sentence) => { document.getElementById("site-said").textContent = sentence; };
const kept = (path) => inStore("readonly", (files) => files.get(path));

function hand(path, notebook) {
  const text = typeof notebook === "string" ? notebook : JSON.stringify(notebook, null, 1);
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "application/x-ipynb+json" }));
  link.download = path.split("/").pop();
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

// The course's own cells as text: what tells a newer version of a unit from the one kept here.
const courseText = (notebook) => (typeof notebook === "string" ? JSON.parse(notebook) : notebook)
  .cells.filter((cell) => cell.metadata?.nbgrader?.locked)
  .map((cell) => [cell.source].flat().join("").trim()).join("\n");

async function hasNewer(path, mine) {
  try {
    const now = await fetch(`files/${path}`, { cache: "no-cache" });
    return now.ok && courseText(await now.json()) !== courseText(mine.content);
  } catch {
    return false;  // offline, or a copy that is no notebook: the page lists it all the same
  }
}

async function show(item) {
  const mine = await kept(item.dataset.path);
  item.querySelector(".site-row").hidden = !mine;
  item.querySelector(".site-state").textContent = mine
    ? `Your copy is in this browser, last saved ${new Date(mine.last_modified).toLocaleString()}.`
    : "Not started in this browser.";
  if (mine && await hasNewer(item.dataset.path, mine)) {
    item.querySelector(".site-state").textContent += " This page has a newer version of the unit. "
      + "Your copy and its answers stay as they are, but what it says when you look back may be "
      + "meant for the newer questions. To get the newer version, download your copy, then choose "
      + "Start this unit again.";
  }
}

const items = [...document.querySelectorAll("[data-path]")];
const showAll = () => Promise.all(items.map(show)).catch(() =>
  say("This browser does not let the page look at what it keeps. Use File, Download in the unit."));

for (const item of items) {
  const path = item.dataset.path;
  const title = item.querySelector("a").textContent;
  item.querySelector(".site-download").addEventListener("click", async () => {
    const mine = await kept(path);
    if (!mine) return showAll();
    hand(path, mine.content);
    say(`${title}: your copy was downloaded as ${path.split("/").pop()}.`);
  });
  item.querySelector(".site-again").addEventListener("click", async () => {
    if (!confirm(`Delete your answers to "${title}" from this browser? Download your copy first, `
      + "if you have not: nobody can bring them back.")) return;
    await inStore("readwrite", (files) => files.delete(path));
    await showAll();
    say(`${title}: your copy was deleted. Open the unit to start again.`);
  });
}

document.getElementById("site-clear").addEventListener("click", async () => {
  if (!confirm("Delete every answer that this page has kept in this browser? Download your copies "
    + "first, if you have not: nobody can bring them back.")) return;
  await inStore("readwrite", (files) => files.clear());
  await showAll();
  say("Everything that was kept here is deleted.");
});

window.addEventListener("pageshow", showAll);
window.addEventListener("focus", showAll);
