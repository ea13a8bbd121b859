// Forms of a build that this device keeps: what is saved is kept here first, then sent.
const { account, build, name: userName, keptAt } = document.body.dataset;

const yardOf = (key) => `/builds/${key}/without-signal/`;
const listMine = async () => (await store.list()).filter((entry) => entry.account === account);
const getMine = async (token) => (await listMine()).find((entry) => entry.token === token);

const workers = navigator.serviceWorker;

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
  if (!keptAt && !form.elements.outbox && !keptBuilds().includes(build)) return;
  event.preventDefault();
  if (!form.dataset.busy) takeOver(form, button);
});

async function takeOver(form, button) {
  form.dataset.busy = "1";
  try {
    const { outbox } = form.elements, entry = await read(form, button);
    const isWhole = await store.put(entry, outbox?.value).then(() => true, (error) => {
      if (!entry.files.length) throw error;
      return store.put({ ...entry, files: [] }, outbox?.value);
    });
    const { token, content } = entry;
    history.replaceState({ token, content }, "");
    // Whichever way it goes from here, it is this one.
    form.elements.form_token.value = token;
    if (outbox || !isWhole) {
      outbox?.remove();
      form.append(hidden("outbox", token));
    }
    if (isWhole) await lead(form, button, entry, !outbox);
    else tell("no-room", true).focus();
  } catch {
    // Saved again, it goes the ordinary way.
    form.dataset.plain = "1";
    tell("not-kept", true).focus();
  }
  delete form.dataset.busy;
}

async function read(form, button) {
  const isQuick = button?.name === "quick_hours";
  if (isQuick) form.hours.value = button.value;
  const data = new FormData(form, isQuick ? null : button);
  const { pathname, search } = new URL(form.getAttribute("action") || "", location), address = pathname + search;
  const table = tableOf(form, data), fields = [], files = [], { outbox } = form.elements;
  const at = Date.now(), typed = table.flatMap(([, text, isTick]) => (isTick ? [] : text));
  const entry = {
    mark: at, account, name: userName, build, kind: form.dataset.outbox, fields, table,
    address, at, state: "waiting", faults: [],
    said: `${form.dataset.outbox}: ${typed.join(", ") || button?.textContent || ""}`.slice(0, 120),
  };
  for (const [field, value] of data) {
    if (value instanceof File) { if (value.size) files.push(smaller(field, value)); }
    else if (!/^(csrfmiddlewaretoken|form_token|outbox)$/.test(field)) fields.push([field, value]);
  }
  // Each is an entry of its own, but for one that is changed, and one that Back leads to and that
  // is saved again as it is. What the server gave back refused is asked anew.
  entry.content = JSON.stringify([address, fields, [...data.values()].map(({ size }) => size)]);
  entry.token = outbox?.type === "hidden" ? data.get("form_token") : outbox?.value ||
    (history.state?.content === entry.content ? history.state.token : crypto.randomUUID());
  // The server may have recorded what it was before: no receipt stands for what is changed.
  return { ...entry, isChanged: outbox?.value === entry.token, files: await Promise.all(files) };
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
  return rows;
}

// At most 2,400 pixels a side, and what is over 1.5 MB anew.
async function smaller(field, file) {
  let blob = file, { name } = file;
  try {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, 2400 / Math.max(picture.width, picture.height));
    if (scale < 1 || file.size > 15e5) {
      const sheet = new OffscreenCanvas(picture.width * scale, picture.height * scale);
      sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height);
      blob = await sheet.convertToBlob({ type: "image/jpeg", quality: 0.85 });
      name = "photo.jpg";
    }
  } catch { /* No picture that this browser reads: the server may. */ }
  return { field, bytes: await blob.arrayBuffer(), name, type: blob.type };
}

// On to what was recorded, to the page with what is to be fixed, or to the list of what waits.
async function lead(form, button, { token }, isNew) {
  if (navigator.onLine) {
    tell("sending", true);
    await Promise.race([sendAll(account, true), new Promise((done) => setTimeout(done, 1e4))]);
    const left = await getMine(token), sent = (await store.fact("sent"))?.find((each) => each.token === token);
    if (!left && sent) return location.assign(sent.address);
    if (/refused|stale/.test(left?.state)) {
      if (!keptAt) {
        if (isNew) await store.drop(token);
        // The ordinary way, to the ordinary page that says what is to be fixed.
        form.dataset.plain = "1";
        return form.requestSubmit(button);
      }
      // What a copy cannot say of its form, the page itself does.
      if (!form.hasAttribute("action")) {
        location.hash = `look=${token}`;
        return location.reload();
      }
    }
  }
  location.assign(yardOf(build));
}

function hidden(name, value) {
  return Object.assign(document.createElement("textarea"), { name, value, hidden: true });
}
