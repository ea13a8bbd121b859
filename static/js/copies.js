// Pages as they were kept: how old they are, and forms that begin with today and what is known.
const forms = all("outbox");
const asked = new URLSearchParams(location.search);
const ASKED = { what: "what", much: "quantity_text", where: "supplier", state: "state" };

async function openCopy() {
  tell("kept-note", timeOf(keptAt));
  tell("kept-long", Date.now() - new Date(keptAt) > 3 * 864e5);
  const today = new Date().toLocaleDateString("sv");
  if (asked.get("state") === "offer") forms[0].dataset.outbox = "Offer";
  for (const form of forms) {
    for (const box of form.querySelectorAll("[type=date]")) if (box.value) box.value = today;
    for (const name in ASKED) if (asked.has(name) && form[ASKED[name]]) form[ASKED[name]].value = asked.get(name);
  }
  const last = (await listMine()).filter((entry) => entry.build === build && entry.kind.startsWith("Timer")).at(-1);
  if (!last || location.hash || !document.getElementById("other")) return;
  const runs = last.kind === "Timer started";
  for (const form of forms) {
    form.hidden = (form.dataset.outbox === "Timer stopped") !== runs;
    for (const button of document.querySelectorAll(`[form=${form.id}]`)) button.hidden = form.hidden;
  }
  tell("timer-here", runs && timeOf(last.at));
}

// Facts of a component as they were kept; nothing is worked out.
async function known(name) {
  const copy = await caches.match(yardOf(build), { cacheName: "pages" });
  const page = new DOMParser().parseFromString((await copy?.text()) || "", "text/html");
  return page.querySelector(`[data-known="${CSS.escape(name.trim().toLowerCase())}"]`)?.dataset.facts || "";
}

// Without signal there is no preview: what is known stands in its place.
addEventListener("htmx:beforeRequest", async (event) => {
  if (!keptAt && navigator.onLine) return;
  event.preventDefault();
  // What something costs is only said by the server.
  document.getElementById("verdict")?.replaceChildren();
  document.getElementById("understood").textContent = await known(event.target.what.value);
});

// An entry that waits, in its form: to be changed, or sent the ordinary way to see its faults.
async function fill() {
  const [, way, token] = location.hash.match(/^#(waits|look)=([\w-]+)$/) || [];
  const entry = await getMine(token);
  if (!entry || !forms[0]) return;
  const form = [...forms].find((each) => each.dataset.outbox === entry.kind) || forms[0];
  for (const box of form.querySelectorAll("[type=checkbox]")) box.checked = false;
  for (const [name, value] of entry.fields) {
    const found = form.elements[name];
    if (!found) form.append(hidden(name, value));
    else for (const box of found.tagName ? [found] : found) {
      if (/radio|checkbox/.test(box.type)) box.checked ||= box.value === value;
      else if (box.type !== "submit") box.value = value;
    }
  }
  for (const box of form.querySelectorAll("[type=file]")) {
    const held = new DataTransfer();
    for (const { field, bytes, name, type } of entry.files) if (field === box.name) held.items.add(new File([bytes], name, { type }));
    box.files = held.files;
  }
  form.append(hidden("outbox", token));
  history.replaceState(null, "", "#");
  if (way === "look" && !keptAt) await takeOver(form, form.querySelector("[type=submit].primary"));
}

// Signing out asks what becomes of what waits; kept pages always go.
const leaving = document.querySelector(".cover-sign-out");
const leave = async () => { await forget().catch(() => {}); leaving.submit(); };
leaving?.addEventListener("submit", async (event) => {
  // Without signal nobody can sign out; that is said elsewhere.
  if (!navigator.onLine) return;
  event.preventDefault();
  const mine = await listMine().catch(() => []);
  if (mine.length) tell("leaving", some(mine)).focus();
  else leave();
});
ACTS.leave = leave;
ACTS.delete = async () => { for (const { token } of await listMine()) await store.drop(token); leave(); };

async function begin() {
  if (keptBuilds().length) workers?.register("/sw.js").catch(() => {});
  if (keptAt) await openCopy();
  await fill();
  const [list] = all("kept-builds"), builds = (list && (await store.fact("who"))?.builds) || {};
  for (const key in builds) list.append(link(yardOf(key), builds[key].name), " ");
  await trySending();
}

begin().catch(() => tell("not-kept", keptBuilds().length));
addEventListener("online", trySending);
addEventListener("visibilitychange", () => document.hidden || trySending());
workers?.addEventListener("message", ({ data }) => data === "gone" && forget());
