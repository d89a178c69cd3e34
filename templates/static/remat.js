"use strict";
// Which works are chosen for a remat job is remembered while one narrows the list and leafs through it:
// in this tab alone, for this person alone, until they sign out (see hingebook.js).
(() => {
  const STORE = "hingebook-remat:";
  const form = document.querySelector("[data-remat-review]");
  const job = document.querySelector("[data-remat-job]");
  const person = (form || job)?.dataset.person;
  if (!person) return;
  const read = () => {
    try {
      return new Map(JSON.parse(sessionStorage.getItem(STORE + person)) || []);
    } catch {
      return new Map();
    }
  };
  const keep = (chosen) => {
    try {
      sessionStorage.setItem(STORE + person, JSON.stringify([...chosen]));
    } catch {
      // A full or forbidden store: the ticks on this page still hold.
    }
  };
  if (job) {
    // What has become a job is chosen no longer.
    const left = read();
    for (const work of job.dataset.works.split(" ")) left.delete(work);
    keep(left);
    return;
  }
  const ticks = [...form.querySelectorAll("input[type=checkbox][name=work]")];
  const nothing = form.querySelector("[data-remat-nothing]");
  // An empty list has nothing to choose from.
  if (!nothing) return;
  const figures = (tick) => [Number(tick.dataset.hours), Number(tick.dataset.cost)];
  // As the server writes it: whole units with commas, then the currency of the house.
  const money = (amount) => `${Math.round(amount).toLocaleString("en-GB")} ${form.dataset.currency}`;
  let chosen = read();
  const say = () => {
    const all = [...chosen.values()];
    const sum = (of) => all.reduce((so_far, one) => so_far + one[of], 0);
    form.querySelector("[data-remat-chosen]").textContent =
      `${all.length} chosen, ${sum(0).toFixed(1)} h, about ${money(sum(1))}`;
    for (const button of form.querySelectorAll("[data-with-works]")) button.disabled = !all.length;
    nothing.hidden = !all.length;
  };
  const show = () => {
    for (const tick of ticks) tick.checked = chosen.has(tick.value);
    say();
  };
  for (const tick of ticks) {
    if (tick.defaultChecked) chosen.set(tick.value, figures(tick));
    tick.addEventListener("change", () => {
      chosen = read();
      if (tick.checked) chosen.set(tick.value, figures(tick));
      else chosen.delete(tick.value);
      keep(chosen);
      say();
    });
  }
  keep(chosen);
  nothing.addEventListener("click", (event) => {
    event.preventDefault();
    chosen = new Map();
    keep(chosen);
    show();
  });
  let presses = null;
  form.addEventListener("submit", (event) => (presses = event.submitter));
  form.addEventListener("formdata", (event) => {
    // The address stays short: only what makes a job or a list carries the works.
    event.formData.delete("work");
    if (presses?.hasAttribute("data-with-works")) for (const work of chosen.keys()) event.formData.append("work", work);
  });
  window.addEventListener("pageshow", () => {
    chosen = read();
    show();
  });
  show();
})();
