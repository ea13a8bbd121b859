// Keeping pages is switched off: what was kept of them goes, and so does the worker. What waits
// to be sent stays: a page sends it.
addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(leave()));

async function leave() {
  for (const name of ["pages", "files"]) await caches.delete(name);
  for (const client of await clients.matchAll({ includeUncontrolled: true })) client.postMessage("gone");
  await registration.unregister();
}
