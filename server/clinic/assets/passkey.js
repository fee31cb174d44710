// Passkeys: asks the browser for one and sends what it answers as a form.
// Without this script, or without passkeys, the page's other way stays.
"use strict";

const toBytes = text => Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), c => c.charCodeAt(0));
const toText = buffer => btoa(String.fromCharCode(...new Uint8Array(buffer))).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

const decoded = o => {
  o.challenge = toBytes(o.challenge);
  if (o.user) o.user.id = toBytes(o.user.id);
  for (const list of [o.allowCredentials, o.excludeCredentials]) for (const c of list ?? []) c.id = toBytes(c.id);
  return o;
};

const encoded = c => {
  const r = c.response;
  const response = { clientDataJSON: toText(r.clientDataJSON) };
  for (const k of ["attestationObject", "authenticatorData", "signature", "userHandle"]) if (r[k]) response[k] = toText(r[k]);
  if (r.getTransports) response.transports = r.getTransports();
  return JSON.stringify({ id: c.id, rawId: toText(c.rawId), type: c.type, response, clientExtensionResults: c.getClientExtensionResults(), authenticatorAttachment: c.authenticatorAttachment ?? undefined });
};

const said = {
  NotAllowedError: "The browser did not get a passkey. Try again, or use the other way.",
  InvalidStateError: "This device already has a passkey for you here.",
  SecurityError: "Passkeys do not work at this address. Use the other way.",
};

if (window.PublicKeyCredential) for (const box of document.querySelectorAll("[data-passkey]")) {
  box.hidden = false;
  const form = box.closest("form");
  const button = box.querySelector("button");
  const problem = box.querySelector("[role=alert]");
  const field = (name, value) => {
    const f = form.elements[name] ?? form.appendChild(Object.assign(document.createElement("input"), { type: "hidden", name }));
    f.value = value;
  };
  button.addEventListener("click", async () => {
    button.disabled = true;
    problem.hidden = true;
    try {
      const asked = await fetch(box.dataset.passkey, { headers: { Accept: "application/json" } });
      if (!asked.ok || !asked.headers.get("Content-Type")?.startsWith("application/json")) throw new Error("The server gives no passkey question now. Reload this page and try again.");
      const { options, state } = await asked.json();
      const publicKey = decoded(options);
      const credential = "make" in box.dataset ? await navigator.credentials.create({ publicKey }) : await navigator.credentials.get({ publicKey });
      field("state", state);
      field("credential", encoded(credential));
      form.action = box.dataset.to;
      form.submit();
    } catch (err) {
      problem.textContent = said[err.name] ?? err.message;
      problem.hidden = false;
      button.disabled = false;
    }
  });
}

// The code of an invitation comes behind the #, which no server sees.
const code = document.querySelector("input[data-code]");
if (code && location.hash.length > 1) {
  code.value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
}

for (const b of document.querySelectorAll("[data-print]")) {
  b.hidden = false;
  b.addEventListener("click", () => print());
}
