// Sends what waits, oldest first, one tab at a time. The server alone says what is recorded.
const ACCOUNT = "Outbox-Account";

// The answer of the ledger; nothing where there is no signal, or something else answers.
async function ask(address, patience, sent) {
  try {
    const answer = await fetch(address, { ...sent, cache: "no-store", signal: AbortSignal.timeout(patience) });
    const said = { status: answer.status, after: answer.headers.get("Retry-After") };
    if (answer.headers.get(ACCOUNT) === sent.headers[ACCOUNT]) return { ...said, ...(await answer.json()) };
    if (answer.status === 413) return said;
  } catch { /* There is no signal. */ }
}

function askTicket(account, entries = [], builds = []) {
  const tokens = entries.filter((entry) => !entry.isChanged).slice(0, 50).map(({ token }) => ["token", token]);
  const query = new URLSearchParams([...tokens, ...builds.map((key) => ["build", key])]);
  return ask(`/outbox/?${query}`, 15e3, { headers: { [ACCOUNT]: account } });
}

function post({ address, fields, files, token, account, at }, mark) {
  const body = new FormData();
  for (const [name, value] of [...fields, ["form_token", token]]) body.append(name, value);
  for (const { field, bytes, name, type } of files) body.append(field, new File([bytes], name, { type }));
  const headers = { "X-CSRFToken": mark, [ACCOUNT]: account, "Outbox-Age": Math.round((Date.now() - at) / 1e3) };
  return ask(address, 12e4, { method: "POST", body, headers });
}

// Ends with what stopped it: nothing, or {why, after}.
function sendAll(account, mayWait) {
  return navigator.locks.request("outbox", { ifAvailable: !mayWait }, (lock) => lock && sendHeld(account));
}

async function sendHeld(account) {
  const entries = (await listMine()).filter((entry) => entry.state === "waiting");
  const who = await store.fact("who"), isMine = who?.account === account;
  const ticket = await askTicket(account, entries, isMine ? Object.keys(who.builds) : []), { status, after } = ticket || {};
  // Nobody will ever send what a deleted account wrote: it can be saved and dropped.
  if (status === 410) for (const entry of entries) await store.change(entry, { state: "blocked" });
  if (status !== 200) return { why: { 401: "sign-in", 410: "gone" }[status] || "no-signal", after };
  if (isMine) await store.keepFact("who", { ...who, asked: Date.now(), stamps: ticket.builds });
  for (const entry of entries) {
    const address = !entry.isChanged && ticket.receipts[entry.token];
    const stopped = address ? await store.settle(entry, { address }) : await sendOne(entry, ticket.mark);
    if (stopped?.why) return stopped;
  }
}

async function sendOne(entry, mark, isSecond) {
  const isOld = Date.now() - entry.at > 365 * 864e5, held = await store.change(entry, isOld && { state: "old" });
  // What was dropped or changed while others went is not sent as it was.
  if (isOld || held?.mark !== entry.mark) return;
  const answer = await post(entry, mark), { status, faults = [], after } = answer || {};
  if (status === 200) return store.settle(entry, answer);
  if (!answer || [429, 503, 507].includes(status)) return { why: answer ? "later" : "no-signal", after };
  if (status === 401) return { why: "sign-in" };
  if (answer.old && !isSecond) return sendOne(entry, (await askTicket(entry.account))?.mark, true);
  const state = { 422: "refused", 409: "stale", 413: "large", 403: "blocked", 404: "blocked" }[status];
  const tries = (entry.tries || 0) + 1;
  // What breaks on the server is tried again, but holds nothing up.
  await store.change(entry, { state: state || (tries < 5 ? "waiting" : "broken"), faults, tries });
}
