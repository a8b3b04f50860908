/* Passkeys: asks the browser to make or to use one, and sends what it answers as a form. */
"use strict";

const form = document.querySelector("[data-passkey]");
const bytes = (text) => Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (each) => each.charCodeAt(0));
const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer))).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
const withIds = (list) => (list || []).map((each) => ({ ...each, id: bytes(each.id) }));

const asked = (options) => ({
  ...options,
  challenge: bytes(options.challenge),
  ...(options.user && { user: { ...options.user, id: bytes(options.user.id) } }),
  excludeCredentials: withIds(options.excludeCredentials),
  allowCredentials: withIds(options.allowCredentials),
});

const SAID = ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"];
const answered = ({ id, rawId, type, response }) =>
  JSON.stringify({ id, rawId: text(rawId), type, response: Object.fromEntries(SAID.filter((name) => response[name]).map((name) => [name, text(response[name])])) });

const asks = async () => {
  const failed = form.querySelector("[data-says=failed]");
  failed.hidden = true;
  try {
    const credential = await navigator.credentials[form.dataset.passkey]({ publicKey: asked(JSON.parse(form.dataset.options)) });
    form.elements.credential.value = answered(credential);
    form.submit();
  } catch {
    failed.hidden = false;
  }
};

if (form && window.PublicKeyCredential && navigator.credentials) {
  form.querySelector("[data-says=cannot]").hidden = true;
  const button = form.querySelector("button");
  button.disabled = false;
  button.addEventListener("click", asks);
}
