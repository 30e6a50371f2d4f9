/* Lets this browser be told while no page of ours is open: web push with our own service worker. */
"use strict";

(() => {
  const state = document.getElementById("push-state");
  const button = document.getElementById("push-on");
  if (!state || !button || !("serviceWorker" in navigator) || !("PushManager" in window)) return;

  const say = (words) => {
    state.textContent = words;
  };

  const bytesOf = (key) => {
    const padded = key.replace(/-/g, "+").replace(/_/g, "/") + "=".repeat((4 - (key.length % 4)) % 4);
    return Uint8Array.from(atob(padded), (character) => character.charCodeAt(0));
  };

  const save = async (subscription) => {
    const answer = await fetch(state.dataset.address, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": state.dataset.csrf },
      body: JSON.stringify(subscription),
    });
    if (!answer.ok) throw new Error((await answer.json()).error || `The site said ${answer.status}.`);
  };

  const begin = async () => {
    button.disabled = true;
    try {
      if ((await Notification.requestPermission()) !== "granted") {
        say("This browser was told not to show notifications. Allow them for this site in its settings.");
        return;
      }
      const worker = await navigator.serviceWorker.register(state.dataset.worker);
      await navigator.serviceWorker.ready;
      const subscription = await worker.pushManager.subscribe({
        userVisibleOnly: true,
        applicationServerKey: bytesOf(state.dataset.key),
      });
      await save(subscription.toJSON());
      window.location.reload();
    } catch (error) {
      say(`It could not be set up: ${error.message}`);
    } finally {
      button.disabled = false;
    }
  };

  say("This device can be told of deviations while the page is closed.");
  button.hidden = false;
  button.addEventListener("click", begin);
})();
