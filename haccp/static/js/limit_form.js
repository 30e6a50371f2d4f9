// Of the form of a limit, only what its way of judging reads is shown, and of the checks only those of its control
// point. What holds a value or is at fault stays in sight, so that nothing is saved unseen. Without script all shows.
"use strict";

(() => {
  const form = document.querySelector("form.part-form");
  if (!form || !form.elements.evaluator) return;

  const NUMBERS = ["low", "high", "target_low", "target_high"];
  const READS = {
    reading: NUMBERS,
    answer: ["accepted"],
    elapsed: [...NUMBERS, "within_s", "target_within_s", "from_event"],
    holding: [...NUMBERS, "hold_s", "target_hold_s", "air_space_above_c"],
  };
  const NOT_WITH = {
    at_least: ["high", "target_high"],
    at_most: ["low", "target_low"],
    one_of: [...NUMBERS, "unit"],
  };
  const OPTIONAL = [...new Set(Object.values(READS).flat())];
  const element = (name) => form.elements[name];
  const row = (name) => element(name)?.closest(".field");
  const isAtFault = (name) => row(name)?.classList.contains("field-bad");

  function showFields() {
    const read = READS[element("evaluator").value] || OPTIONAL;
    const without = NOT_WITH[element("comparator").value] || [];
    OPTIONAL.forEach((name) => {
      if (!row(name)) return;
      const isUsed = read.includes(name) && !without.includes(name);
      row(name).hidden = !isUsed && !element(name).value && !isAtFault(name);
    });
  }

  const checks = [...form.querySelectorAll("input[name=watched_at]")].map((box) => ({
    box, item: box.closest("div") || box.closest("label"), words: box.closest("label").textContent.trim(),
  }));
  let showsAll = false;
  const more = document.createElement("button");
  more.type = "button";
  more.className = "second";

  function showChecks() {
    const point = element("control_point");
    const code = point.selectedIndex > 0 ? point.selectedOptions[0].textContent.trim() : "";
    const belongs = (words) => !code || code.startsWith(`${words.split(" · ")[0]} `);
    const own = checks.filter(({ words }) => belongs(words)).length;
    checks.forEach(({ box, item, words }) => { item.hidden = !(showsAll || own === 0 || belongs(words) || box.checked); });
    more.hidden = !code || own === 0 || own === checks.length;
    more.textContent = showsAll ? "Show only this control point’s" : "Show what is entered at other checks too";
  }

  more.addEventListener("click", () => { showsAll = !showsAll; showChecks(); });
  form.addEventListener("change", () => { showFields(); showChecks(); });
  if (checks.length) checks.at(-1).box.closest(".field").append(more);
  showFields();
  showChecks();
})();
