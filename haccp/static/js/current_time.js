// Keeps the time of a form that nobody has touched at the present: a page opened at the vat may lie for half an hour
// before a button is pressed. It adds the time that passed since the page was made, so the device's zone plays no part.
"use strict";

const opened = Date.now();

function pad(number) {
  return String(number).padStart(2, "0");
}

function keep(input) {
  const start = new Date(`${input.value.slice(0, 16)}:00Z`);
  let touched = false;
  input.addEventListener("input", () => { touched = true; });
  function refresh() {
    if (touched || Number.isNaN(start.getTime())) return;
    const now = new Date(start.getTime() + Date.now() - opened);
    input.value = `${now.getUTCFullYear()}-${pad(now.getUTCMonth() + 1)}-${pad(now.getUTCDate())}T${pad(now.getUTCHours())}:${pad(now.getUTCMinutes())}`;
  }
  setInterval(refresh, 15000);
  document.addEventListener("visibilitychange", refresh);
}

document.querySelectorAll("input[data-keep-current]").forEach(keep);
