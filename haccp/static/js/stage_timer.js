// Counts down to a moment that the server has computed from what is stored. It adds the time that passed since the page
// was made, so the device's clock and zone play no part; a page opened anew, anywhere, shows the same.
"use strict";

const loaded = Date.now();

function words(seconds) {
  const size = Math.abs(Math.round(seconds));
  const h = Math.floor(size / 3600), min = Math.floor((size % 3600) / 60), s = size % 60;
  const parts = [];
  if (h) parts.push(`${h} h`);
  if (min || h) parts.push(`${min} min`);
  if (!h) parts.push(`${s} s`);
  return parts.join(" ");
}

function tick(element) {
  const left = Number(element.dataset.leftS) - (Date.now() - loaded) / 1000;
  element.textContent = (left >= 0 ? element.dataset.left : element.dataset.over).replace("%", words(left));
  element.classList.toggle("timer-over", left < 0);
}

function tickAll() {
  document.querySelectorAll("[data-left-s]").forEach(tick);
}

tickAll();
setInterval(tickAll, 1000);
document.addEventListener("visibilitychange", tickAll);
