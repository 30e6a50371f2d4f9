// Passkeys (W3C Web Authentication): making one, signing in with one, and one in the place of the password at a signature.
"use strict";

(() => {
  if (!window.PublicKeyCredential) return;

  const bytesOf = (text) => {
    const padded = text.replace(/-/g, "+").replace(/_/g, "/") + "=".repeat((4 - (text.length % 4)) % 4);
    return Uint8Array.from(atob(padded), (character) => character.charCodeAt(0));
  };
  const textOf = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer)))
    .replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
  const known = (list) => (list || []).map((one) => ({ ...one, id: bytesOf(one.id) }));

  async function send(address, csrf, body) {
    const answer = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": csrf },
      body: JSON.stringify(body || {}),
    });
    const told = await answer.json().catch(() => ({}));
    if (!answer.ok) throw new Error(told.error || `The site said ${answer.status}.`);
    return told;
  }

  async function prove(options) {
    const asked = { ...options, challenge: bytesOf(options.challenge), allowCredentials: known(options.allowCredentials) };
    const made = await navigator.credentials.get({ publicKey: asked });
    return {
      id: made.id,
      rawId: textOf(made.rawId),
      type: made.type,
      response: {
        clientDataJSON: textOf(made.response.clientDataJSON),
        authenticatorData: textOf(made.response.authenticatorData),
        signature: textOf(made.response.signature),
        userHandle: made.response.userHandle ? textOf(made.response.userHandle) : null,
      },
    };
  }

  async function make(options) {
    const asked = {
      ...options,
      challenge: bytesOf(options.challenge),
      user: { ...options.user, id: bytesOf(options.user.id) },
      excludeCredentials: known(options.excludeCredentials),
    };
    const made = await navigator.credentials.create({ publicKey: asked });
    return {
      id: made.id,
      rawId: textOf(made.rawId),
      type: made.type,
      response: {
        clientDataJSON: textOf(made.response.clientDataJSON),
        attestationObject: textOf(made.response.attestationObject),
      },
    };
  }

  const because = (error) => (error.name === "NotAllowedError"
    ? "Nothing was sent: the device was not asked, or said no. Try again, or use your password."
    : error.message);

  function onClick(button, line, work) {
    button.addEventListener("click", async () => {
      button.disabled = true;
      line.textContent = "";
      try {
        await work();
      } catch (error) {
        line.textContent = because(error);
      } finally {
        button.disabled = false;
      }
    });
  }

  const into = document.getElementById("passkey-sign-in");
  if (into) {
    into.hidden = false;
    const { options, address, csrf } = into.dataset;
    onClick(into.querySelector("button"), into.querySelector("[role=status]"), async () => {
      const told = await send(address, csrf, await prove(await send(options, csrf)));
      window.location.assign(told.next);
    });
  }

  const maker = document.getElementById("passkey-make");
  if (maker) {
    const { made, name, address, csrf } = maker.dataset;
    onClick(maker.querySelector("button"), maker.querySelector("[role=status]"), async () => {
      const told = await send(address, csrf, { name, answer: await make(JSON.parse(made)) });
      window.location.assign(told.next);
    });
  }

  // A form that asks for the password gets a second button, which puts the word of a passkey in its place.
  const { passkeyOptions, passkeyAddress } = document.body.dataset;
  if (!passkeyOptions) return;
  document.querySelectorAll("form input[name=password][autocomplete=current-password]").forEach((field) => {
    const csrf = field.form.querySelector("[name=csrfmiddlewaretoken]").value;
    const place = document.createElement("p");
    const button = document.createElement("button");
    const line = document.createElement("span");
    button.type = "button";
    button.className = "second";
    button.textContent = "Use a passkey instead";
    line.className = "quiet";
    line.setAttribute("role", "status");
    place.append(button, " ", line);
    field.closest(".field").after(place);
    onClick(button, line, async () => {
      const told = await send(passkeyAddress, csrf, await prove(await send(passkeyOptions, csrf)));
      field.value = told.word;
      field.form.requestSubmit(field.form.querySelector("[type=submit]"));
    });
  });
})();
