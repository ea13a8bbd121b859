// Passkeys: what the page asks for, and what the device answers, in a form that goes to the server.
// Without scripts, or without passkeys in the browser, a code is typed.
"use strict";
const form = document.querySelector("[data-passkey]");

function bytesOf(text) {
  const signs = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(signs, (sign) => sign.charCodeAt(0));
}

function textOf(buffer) {
  const signs = String.fromCharCode(...new Uint8Array(buffer));
  return btoa(signs).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

// What the server says in text, as the browser wants it.
function asked({ challenge, user, allowCredentials, excludeCredentials, ...rest }) {
  const known = (list) => list?.map((each) => ({ ...each, id: bytesOf(each.id) }));
  const wish = { ...rest, challenge: bytesOf(challenge) };
  if (user) wish.user = { ...user, id: bytesOf(user.id) };
  if (allowCredentials) wish.allowCredentials = known(allowCredentials);
  if (excludeCredentials) wish.excludeCredentials = known(excludeCredentials);
  return wish;
}

// What the device said, as text.
function answered({ id, type, response }) {
  const parts = {};
  for (const name of ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (response[name]) parts[name] = textOf(response[name]);
  }
  // Beside the attestation the same data stands again, which nobody asked for.
  if (parts.attestationObject) delete parts.authenticatorData;
  return JSON.stringify({ id, rawId: id, type, response: parts, clientExtensionResults: {} });
}

if (form && window.PublicKeyCredential) {
  const told = form.querySelector("[data-passkey-told]");
  form.hidden = false;
  for (const part of document.querySelectorAll("[data-passkey-none]")) part.hidden = true;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (form.dataset.busy || !navigator.onLine) return;
    form.dataset.busy = "1";
    told.textContent = "";
    try {
      const wish = { publicKey: asked(JSON.parse(form.dataset.options)) };
      form.elements.passkey.value = answered(await navigator.credentials[form.dataset.passkey](wish));
      form.submit();
    } catch {
      told.textContent = told.dataset.failed;
    }
    delete form.dataset.busy;
  });
}
