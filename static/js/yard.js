// What this device keeps, told: what waits, what became of it, how old a page is.
const all = (name, inside = document) => inside.querySelectorAll(`[data-${name}]`);
const [rows] = all("waits-list"), [sample] = all("row"), [keeps] = all("keeps");
let delay = 15e3, timer;

const timeOf = (time) => new Date(time).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });
const some = ({ length }) => (length === 1 ? "1 entry" : `${length} entries`);

async function trySending() {
  clearTimeout(timer);
  const who = await store.fact("who"), isMine = who?.account === account;
  // Nobody's pages are shown to anybody else.
  if (account && who && !isMine) await forget();
  const waits = (await listMine()).some((entry) => entry.state === "waiting");
  let stopped;
  // Asked after ten minutes even if nothing waits; tried again at most fifteen minutes later.
  if (account && navigator.onLine && (waits || (isMine && Date.now() - who.asked > 6e5))) {
    stopped = await sendAll(account);
    if (stopped) timer = setTimeout(trySending, stopped.after * 1e3 || delay);
    else if (isMine) await renew();
    delay = stopped ? Math.min(delay * 2, 9e5) : 15e3;
  }
  await show(stopped);
}

// Fetches what is kept anew, if a build or the release changed since. Builds that are no longer
// one's own go.
async function renew() {
  const who = await store.fact("who"), { builds, stamps = builds } = who;
  const stamp = JSON.stringify([stamps, document.scripts[0].src]), lost = Object.keys(builds).find((key) => !stamps[key]);
  if (lost) return stopKeeping(lost);
  if (who.stamp === stamp) return "";
  const { port1, port2 } = new MessageChannel();
  (await workers.ready).active.postMessage("", [port2]);
  const { came, of } = await new Promise((done) => { port1.onmessage = ({ data }) => done(data); });
  if (came === of) await store.keepFact("who", { ...who, stamp });
  return `${came} of ${of}`;
}

async function remember(builds) {
  await store.keepFact("who", { account, asked: Date.now(), builds });
  localStorage.setItem(`keeps-${account}`, Object.keys(builds).join());
  await show();
  await sendAll(account, true);
  const came = await renew();
  tell("coming"), tell("came", came);
  await show();
}

async function keepBuild() {
  await workers.register("/sw.js");
  tell("may-go", !(await navigator.storage?.persist?.()));
  tell("coming", true);
  const who = await store.fact("who"), own = { pages: keeps.dataset.keeps.split(" "), name: keeps.dataset.of };
  await remember({ ...(who?.account === account && who.builds), [build]: own });
}

async function stopKeeping(key = build) {
  const { builds } = await store.fact("who");
  delete builds[key];
  await caches.delete("pages");
  await remember(builds);
}

async function forget() {
  await caches.delete("pages");
  await store.keepFact("who");
  localStorage.clear();
}

async function show(stopped) {
  const mine = await listMine(), others = (await store.list()).filter((entry) => entry.account !== account);
  tell("others", [...new Set(others.map(({ name }) => name))].join("; "));
  if (keeps) {
    const isKept = keptBuilds().includes(build);
    keeps.hidden = !workers;
    tell("is-kept", isKept), tell("is-not-kept", !isKept);
  }
  tell("not-sent", !rows && mine.length && some(mine));
  if (!rows) return;
  tell("waits", mine.length && some(mine));
  for (const why of all("why")) why.hidden = why.dataset.why !== stopped?.why;
  rows.replaceChildren(...mine.map(row));
  const sent = ((await store.fact("sent")) || []).filter((each) => each.account === account);
  tell("sent", sent.length).querySelector("ul").replaceChildren(...sent.map(({ address, said, text }) => {
    const line = document.createElement("li");
    line.append(link(address, said), ` ${text || ""}`);
    return line;
  }));
}

const link = (href, textContent) => Object.assign(document.createElement("a"), { href, textContent });

function row({ token, said, at, faults, files, fields, address, state }) {
  const part = sample.content.firstElementChild.cloneNode(true);
  part.dataset.token = token;
  const texts = { what: said, time: timeOf(at), faults: faults.join(" "), photos: files.length };
  for (const name in texts) all(name, part)[0].textContent = texts[name];
  for (const each of all("to", part)) each.href = `${address}#${each.dataset.to}=${token}`;
  for (const each of all("for", part)) each.hidden = !each.dataset.for.split(" ").includes(state) || (each.dataset.to && fields.length < 2);
  return part;
}

async function again(token, changes) {
  await store.change(await getMine(token), { state: "waiting", tries: 0, ...changes });
  await trySending();
}

const ACTS = {
  keep: keepBuild, stop: stopKeeping, send: trySending,
  again, lighten: (token) => again(token, { files: [] }),
  drop: (token) => store.drop(token).then(show),
  save: async () => save(await listMine()),
};
addEventListener("click", ({ target }) => ACTS[target.dataset.act]?.(target.closest("[data-token]")?.dataset.token));

// Tables as the import page reads them, one for each kind of entry.
function save(entries) {
  for (const kind of new Set(entries.map((entry) => entry.kind))) {
    const tables = entries.filter((entry) => entry.kind === kind).map(({ table, said, at }) => new Map(table[0] ? table : [["Entry", said], ["Date", timeOf(at)]]));
    const heads = [...new Set(tables.flatMap((table) => [...table.keys()]))];
    const lines = [heads, ...tables.map((table) => heads.map((head) => (table.get(head) || "").replace(/\s+/g, " ")))];
    const text = lines.map((cells) => cells.join("\t")).join("\n");
    Object.assign(link(URL.createObjectURL(new Blob([text]))), { download: `${kind}.tsv` }).click();
  }
}
