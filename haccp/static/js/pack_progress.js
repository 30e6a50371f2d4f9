// Looks once a second how far a visit pack has come, and shows the finished page when it is there.
// Without this script the page looks again by itself every few seconds.
(() => {
  "use strict";
  const section = document.querySelector("[data-progress-url]");
  if (!section) return;
  const bar = document.getElementById("pack-bar");
  const stage = document.getElementById("pack-stage");
  const percent = document.getElementById("pack-percent");

  const show = (progress) => {
    if (progress.total > 0) {
      bar.max = progress.total;
      bar.value = progress.done;
      percent.textContent = `${progress.percent} %`;
    }
    // Only when it changes, so that a screen reader says each stage once.
    if (progress.stage && stage.textContent !== progress.stage) stage.textContent = progress.stage;
  };

  const look = async () => {
    let pause = 1000;
    try {
      const answer = await fetch(section.dataset.progressUrl, { headers: { Accept: "application/json" } });
      if (answer.redirected || answer.status === 404 || answer.status === 403) return window.location.reload();
      const progress = await answer.json();
      show(progress);
      if (!["waiting", "making"].includes(progress.state)) return window.location.reload();
    } catch {
      // The connection is away; it may come back.
      pause = 4000;
    }
    window.setTimeout(look, pause);
  };
  window.setTimeout(look, 500);
})();
