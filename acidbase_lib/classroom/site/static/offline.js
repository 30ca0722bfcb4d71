// Keeps the light page of practice on the device, whole: EDITION and FILES stand in front of this.
// An edition has a store of its own. It takes over only when every file of it is there and sound.

const PREFIX = `acidbase-practice ${self.registration.scope} `; // a host may hold two pages
const STORE = PREFIX + EDITION;

async function fetched(name) {
  const answer = await fetch(name, { cache: "no-store" });
  if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
  const bytes = await answer.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  const hex = [...digest].map((one) => one.toString(16).padStart(2, "0")).join("");
  if (hex !== FILES[name]) throw new Error(`${name} is damaged, or of another edition`);
  // Made anew: what a server led elsewhere may not answer for a page.
  return new Response(bytes, { headers: { "Content-Type": answer.headers.get("Content-Type") || "" } });
}

async function keepAll() {
  const names = Object.keys(FILES);
  const found = await Promise.all(names.map(fetched));
  try {
    const store = await caches.open(STORE);
    await Promise.all(names.map((name, place) => store.put(name, found[place])));
  } catch (error) {
    await caches.delete(STORE); // the device is full: half an edition is worth nothing
    throw error;
  }
}

async function takeOver() {
  const others = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== STORE);
  await Promise.all(others.map((name) => caches.delete(name)));
  await self.clients.claim();
}

self.addEventListener("install", (event) => event.waitUntil(keepAll()));
self.addEventListener("activate", (event) => event.waitUntil(takeOver()));
self.addEventListener("message", ({ data }) => { if (data === "swap") self.skipWaiting(); });
self.addEventListener("fetch", (event) => {
  const folder = new URL(self.registration.scope);
  const asked = new URL(event.request.url);
  if (event.request.method !== "GET" || asked.origin !== folder.origin
    || !asked.pathname.startsWith(folder.pathname)) return;
  const name = decodeURIComponent(asked.pathname.slice(folder.pathname.length)) || "index.html";
  if (!(name in FILES)) return;
  event.respondWith((async () => {
    const store = await caches.open(STORE);
    return await store.match(name) || fetch(event.request);
  })());
});
