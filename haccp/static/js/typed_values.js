// Loses nothing that was typed when a form cannot be sent. Without a connection the page stays, and says so. When it
// is left all the same, for the browser's own page of a lost connection or by the back button, the values wait in this
// tab and are put back; with them the id made with the form, so that what had arrived is not recorded twice.
// A password is never kept, and nothing stays once somebody has signed out.
"use strict";

(() => {
  const PREFIX = "typed ";
  const SENDING = "typed: being sent";
  const NO_CONNECTION = "There is no connection, so nothing was sent. What you typed stays here: press the button again when there is one.";
  const PUT_BACK = "This was typed before and could not be sent; it is put back as it was. Look it over, then save it.";
  const changed = new WeakSet();
  const unsent = new WeakSet();
  const page = location.href.split("#")[0];

  function forget() {
    Object.keys(sessionStorage).filter((key) => key.startsWith("typed")).forEach((key) => sessionStorage.removeItem(key));
  }

  const isMadeWithForm = (field) => field.type === "hidden" && field.name.endsWith("_id");
  const isTyped = (field) => !["hidden", "password", "file", "submit", "button"].includes(field.type);
  const kept = (form) => [...form.elements].filter((field) => field.name && (isTyped(field) || isMadeWithForm(field)));

  // Several forms of a page differ in where they send and in what their hidden fields say they are about.
  function keyOf(form) {
    const about = [...form.elements].filter((field) => (
      field.type === "hidden" && !isMadeWithForm(field) && !/csrf|sha256/.test(field.name)
    ));
    const words = about.map((field) => `${field.name}=${field.value}`);
    // What one person typed is not put back for another who signs in on the same device.
    return PREFIX + [document.body.dataset.person || "", page, form.getAttribute("action") || "", ...words].join(" ");
  }

  const read = (key) => JSON.parse(sessionStorage.getItem(key) || "null");
  const write = (key, value) => sessionStorage.setItem(key, JSON.stringify(value));

  function keep(form) {
    const values = kept(form).map((field) => (
      ["radio", "checkbox"].includes(field.type) ? [field.name, field.value, field.checked] : [field.name, field.value]
    ));
    write(keyOf(form), { values, unsent: unsent.has(form) });
  }

  function putBack(form, draft) {
    draft.values.forEach(([name, value, checked]) => {
      const field = kept(form).find((one) => one.name === name && (checked === undefined || one.value === value));
      if (!field) return;
      if (checked === undefined) field.value = value;
      else field.checked = checked;
      // Others on the page, such as the clock that keeps a time current, learn that a person set this.
      field.dispatchEvent(new Event("input", { bubbles: true }));
    });
  }

  function say(form, sentence) {
    const there = form.querySelector(".typed-values-say");
    const line = there || document.createElement("p");
    line.className = "notice notice-warn typed-values-say";
    line.setAttribute("role", "status");
    form.append(line);
    line.textContent = sentence;
  }

  function settleWhatWasSent(arrival) {
    const sent = read(SENDING);
    if (!sent) return;
    sessionStorage.removeItem(SENDING);
    // An answer comes from the page of the form; after a failure people arrive by the back button or a fresh address.
    const isAnswered = arrival !== "back_forward" && document.referrer === sent.page;
    const draft = read(sent.key);
    if (draft) write(sent.key, { ...draft, unsent: !isAnswered });
  }

  function begin() {
    const arrival = (performance.getEntriesByType("navigation")[0] || {}).type;
    settleWhatWasSent(arrival);
    const isBack = ["back_forward", "reload"].includes(arrival);
    const forms = [...document.forms].filter((form) => form.method === "post" && kept(form).some(isTyped));
    forms.forEach((form) => {
      form.addEventListener("input", () => changed.add(form));
      form.addEventListener("submit", (event) => {
        if (!navigator.onLine) {
          event.preventDefault();
          say(form, NO_CONNECTION);
          return;
        }
        keep(form);
        write(SENDING, { key: keyOf(form), page });
      });
      const draft = read(keyOf(form));
      if (!draft || !(isBack || draft.unsent)) return;
      putBack(form, draft);
      if (!draft.unsent) return;
      unsent.add(form);
      say(form, PUT_BACK);
    });
    window.addEventListener("pagehide", () => {
      if (!sessionStorage.getItem(SENDING)) forms.filter((form) => changed.has(form)).forEach(keep);
    });
  }

  // The session had ended when the form was sent: what was typed waits until its person has signed in again.
  function keepUnsent() {
    const sent = read(SENDING);
    if (!sent) return null;
    sessionStorage.removeItem(SENDING);
    const draft = read(sent.key);
    if (draft) write(sent.key, { ...draft, unsent: true });
    return sent.key;
  }

  // The service could not answer. Its page can send the same again; what is opened anew instead has the values too.
  function keepUnanswered() {
    const key = keepUnsent();
    const again = document.querySelector("form.send-again");
    if (key && again) again.addEventListener("submit", () => write(SENDING, { key, page }));
  }

  try {
    if (document.body.classList.contains("with-navigation")) begin();
    else if ("unanswered" in document.body.dataset) keepUnanswered();
    else if (document.querySelector("form [name=next]")?.value) keepUnsent();
    else forget();
  } catch (error) {
    // Where the browser keeps nothing (some private windows), forms work as without this script.
    if (!(error instanceof DOMException)) throw error;
  }
})();
