// Gives a page from the network, or as it was kept when there is no signal. Only pages that their
// user chose to keep, only for that account, and only so long after the server last knew it.
const PATIENCE = 4e3, LONGEST = 14 * 864e5;
const kept = (name, cacheName) => caches.match(name, { cacheName });

addEventListener("install", (event) => event.waitUntil(begin()));
// Pages of an earlier release come anew, with the files that they name.
// Until all came once, the page that asked for them asks again: they would come twice at a time.
addEventListener("activate", (event) => event.waitUntil(Promise.all([clients.claim(), store.fact("who").then((who) => who?.stamp && fetchAll())])));

async function begin() {
  await (await caches.open("files")).addAll(release.files);
  await skipWaiting();
}

addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith(release.folder)) event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(page(event, url));
});

// A file never changes under a name that holds its digest; other names are for developing.
async function file(request) {
  const found = await kept(request, "files");
  return found && (release.digests || !navigator.onLine) ? found : fetch(request);
}

async function page(event, url) {
  const who = await store.fact("who").catch(() => {}), copy = await find(url, who);
  try {
    const asked = fetch(event.request);
    event.waitUntil(asked.then((answer) => keep(url, answer.clone(), who)).catch(() => {}));
    const answer = await (copy ? Promise.race([asked, new Promise((_, fail) => setTimeout(fail, PATIENCE))]) : asked);
    return copy && answer.status > 501 ? copy : answer;
  } catch {
    return copy || kept(release.offline, "files");
  }
}

async function find(url, who) {
  const copy = who && Date.now() - who.asked < LONGEST && await kept(url.pathname, "pages");
  if (!copy || copy.headers.get("Kept-For") !== who.account) return;
  const { headers } = copy, mark = `<body data-kept-at="${headers.get("Kept-At")}" `;
  return new Response((await copy.text()).replace("<body ", mark), { headers });
}

async function keep(url, answer, who, seen = new Set()) {
  const isKept = Object.values(who?.builds || {}).some(({ pages }) => pages.includes(url.pathname + url.search));
  if (!isKept || !answer.ok || answer.headers.get("Kept-For") !== who.account) return false;
  const text = await answer.text(), headers = { "Kept-At": new Date().toISOString() };
  for (const name of ["Kept-For", "Content-Type", "Content-Security-Policy"]) headers[name] = answer.headers.get(name);
  // Nobody else may have signed in, or out, while it came.
  if ((await store.fact("who"))?.account !== who.account) return false;
  await (await caches.open("pages")).put(url.pathname, new Response(text, { headers }));
  const files = await caches.open("files");
  for (const [, name] of text.matchAll(/(?:href|src)="([^"]+)"/g)) {
    if (!name.startsWith(release.folder)) continue;
    seen.add(name);
    if (!(await files.match(name))) await files.add(name).catch(() => {});
  }
  return true;
}

// Asked by a page: all that is kept comes anew. Answers how many pages came.
addEventListener("message", (event) => event.waitUntil(fetchAll(event.ports[0])));

async function fetchAll(port) {
  const who = await store.fact("who"), seen = new Set(release.files);
  const pages = Object.values(who?.builds || {}).flatMap((build) => build.pages);
  let came = 0;
  for (const name of pages) {
    const answer = await fetch(name, { cache: "no-store" }).catch(() => {});
    came += answer ? await keep(new URL(name, location), answer, who, seen) : 0;
  }
  // Files of an older release go once every page has come.
  const files = await caches.open("files"), old = came === pages.length ? await files.keys() : [];
  for (const { url } of old) if (!seen.has(new URL(url).pathname)) await files.delete(url);
  port?.postMessage({ came, of: pages.length });
}
