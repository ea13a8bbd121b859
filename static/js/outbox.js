// Forms of a build that this device keeps: what is saved is kept here first, then sent.
const { account, build, name: userName, keptAt } = document.body.dataset;
const SIDE = 2400, LARGE = 1500000;
const tokens = new WeakMap();

const yardOf = (key) => `/builds/${key}/without-signal/`;
const listMine = async () => (await store.list()).filter((entry) => entry.account === account);
const getMine = async (token) => (await listMine()).find((entry) => entry.token === token);

function keptBuilds() {
  try {
    return (localStorage.getItem(`keeps-${account}`) || "").split(",").filter(Boolean);
  } catch {
    return [];
  }
}

// Shows a sentence of the page, with what is put into its gap; without that, hides it.
function tell(name, text) {
  const part = document.querySelector(`[data-${name}]`), gap = part?.querySelector("[data-gap]");
  if (part) part.hidden = !text;
  if (gap) gap.textContent = text;
  return part;
}

document.addEventListener("submit", (event) => {
  const form = event.target, button = event.submitter;
  // A button with an address of its own only looks, or asks for another row.
  if (!form.dataset.outbox || !account || button?.hasAttribute("formaction") || form.dataset.plain) return;
  if (!keptAt && !keptBuilds().includes(build)) return;
  event.preventDefault();
  if (!form.dataset.busy) takeOver(form, button);
});

async function takeOver(form, button) {
  form.dataset.busy = "1";
  try {
    const isNew = !form.elements.outbox, entry = await read(form, button);
    const isWhole = await keepEntry(entry);
    if (isNew) form.append(hidden("outbox", entry.token));
    if (isWhole) await lead(form, button, entry, isNew);
    else tell("no-room", " ").focus();
  } catch {
    tell("not-kept", " ").focus();
  }
  delete form.dataset.busy;
}

async function keepEntry(entry) {
  try {
    await store.put(entry);
    return true;
  } catch (error) {
    if (!entry.files.length) throw error;
    await store.put({ ...entry, files: [] });
    return false;
  }
}

// A copy of a page may be opened often: each opening is an entry of its own.
function tokenOf(form, data) {
  if (keptAt && !tokens.has(form)) tokens.set(form, crypto.randomUUID());
  return data.get("outbox") || tokens.get(form) || data.get("form_token");
}

async function read(form, button) {
  const data = new FormData(form, button);
  const { pathname, search } = new URL(form.getAttribute("action") || "", location);
  const table = tableOf(form, data), fields = [], files = [];
  const typed = table.filter(([,, isTick]) => !isTick).map(([, text]) => text);
  const entry = {
    token: tokenOf(form, data), account, name: userName, build, kind: form.dataset.outbox, fields, table,
    address: pathname + search, at: Date.now(), state: "waiting", faults: [],
    said: `${form.dataset.outbox}: ${typed.join(", ") || button?.textContent || ""}`.slice(0, 120),
  };
  for (const [field, value] of data) {
    if (value instanceof File) { if (value.size) files.push(smaller(field, value)); }
    else if (!/^(csrfmiddlewaretoken|form_token|outbox)$/.test(field)) fields.push([field, value]);
  }
  return { ...entry, files: await Promise.all(files) };
}

// What was typed, with the names of its boxes: for the list, and for a file.
function tableOf(form, data) {
  const rows = [], isWhole = data.has("price_for") && data.get("price_for") !== "each";
  for (const box of form.elements) {
    const isTick = /radio|checkbox/.test(box.type), own = box.labels?.[0]?.textContent.trim();
    if (!own || !box.value || box.type === "file" || (isTick && !box.checked)) continue;
    const label = box.closest(".field").querySelector("legend, label").textContent.trim();
    rows.push([isWhole && box.name === "price" ? "Total" : label, isTick ? own : box.selectedOptions?.[0].textContent || box.value, isTick]);
  }
  return data.has("quick_hours") ? [...rows, ["Hours", data.get("quick_hours")]] : rows;
}

async function smaller(field, file) {
  try {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, SIDE / Math.max(picture.width, picture.height));
    if (scale < 1 || file.size > LARGE) {
      const sheet = new OffscreenCanvas(picture.width * scale, picture.height * scale);
      sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height);
      const blob = await sheet.convertToBlob({ type: "image/jpeg", quality: 0.85 });
      return { field, bytes: await blob.arrayBuffer(), name: "photo.jpg", type: blob.type };
    }
  } catch { /* No picture that this browser reads: the server may. */ }
  return { field, bytes: await file.arrayBuffer(), name: file.name, type: file.type };
}

// On to what was recorded, to the page with what is to be fixed, or to the list of what waits.
async function lead(form, button, { token, address }, isNew) {
  if (navigator.onLine) {
    tell("sending", " ");
    await Promise.race([sendAll(account, true), new Promise((done) => setTimeout(done, 10000))]);
    const left = await getMine(token), sent = (await store.fact("sent"))?.find((each) => each.token === token);
    if (!left && sent) return location.assign(sent.address);
    if (/refused|stale/.test(left?.state)) {
      if (keptAt) return location.assign(`${address}#look=${token}`);
      if (isNew) await store.drop(token);
      return submitPlainly(form, button);
    }
  }
  return location.assign(yardOf(build));
}

// The ordinary way, to the ordinary page that says what is to be fixed.
function submitPlainly(form, button) {
  form.dataset.plain = "1";
  form.requestSubmit(button);
}

function hidden(name, value) {
  return Object.assign(document.createElement("textarea"), { name, value, hidden: true });
}
