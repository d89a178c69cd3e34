// How a form is read and filled again; and what is written up of a visit stays in this browser,
// for its person, until it is sent.
"use strict";

// Names and values as the form would send them, but for what belongs to the page alone.
globalThis.toldIn = (form, ofThePage) =>
  [...new FormData(form)].filter(([name, value]) => typeof value === "string" && !ofThePage.has(name));

globalThis.fillAgain = (form, told, ofThePage) => {
  const values = new Map();
  for (const [name, value] of told) values.set(name, [...(values.get(name) ?? []), value]);
  for (const field of [...form.elements]) {
    if (!field.name || ofThePage.has(field.name) || ["submit", "button"].includes(field.type)) continue;
    const given = values.get(field.name) ?? [];
    if (["checkbox", "radio"].includes(field.type)) field.checked = given.includes(field.value);
    // Each field of a name takes the next of what was told under it.
    else field.value = given.shift() ?? "";
  }
  // Fields that only the page before had, such as one row more.
  for (const [name, given] of values) {
    if (form.elements.namedItem(name)) continue;
    for (const value of given) {
      form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
    }
  }
};

for (const page of document.querySelectorAll("[data-typed-of]")) {
  const OF_THE_PAGE = new Set(["form_token", "repeat_key"]);
  const name = `hingebook-typed:${document.querySelector("form.leave")?.dataset.person}:${page.dataset.typedOf}`;
  const form = document.querySelector("form[data-keeps-typed]");
  const drop = () => stored(() => localStorage.removeItem(name));
  if (!form) {
    // Written up, or taken back: nothing waits for it any longer.
    drop();
    continue;
  }
  const asItWas = toldIn(form, OF_THE_PAGE);
  const keep = () => stored(() => localStorage.setItem(name, JSON.stringify(toldIn(form, OF_THE_PAGE))));
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  const before = stored(() => JSON.parse(localStorage.getItem(name)));
  // A page that answers to what was sent shows what was sent.
  if (form.dataset.keepsTyped === "answer") keep();
  else if (before && JSON.stringify(before) !== JSON.stringify(asItWas)) {
    fillAgain(form, before, OF_THE_PAGE);
    const wasSaid = new Set(asItWas.map((one) => JSON.stringify(one)));
    for (const [name] of before.filter((one) => !wasSaid.has(JSON.stringify(one)))) {
      for (let at = form.querySelector(`[name="${CSS.escape(name)}"]`); at && at !== form; at = at.parentElement) {
        if (at.tagName === "DETAILS") at.open = true;
      }
    }
    const said = Object.assign(document.createElement("p"), { className: "notice", textContent: "Taken up again: what you typed here and did not send. " });
    const afresh = Object.assign(document.createElement("button"), { type: "button", className: "quiet-button", textContent: "Begin afresh" });
    afresh.addEventListener("click", () => {
      fillAgain(form, asItWas, OF_THE_PAGE);
      drop();
      said.remove();
    });
    said.setAttribute("role", "status");
    said.append(afresh);
    form.prepend(said);
  }
}
