// Came off, and the new package: tap a layer, say what became of it, swap it. Each change of
// the package asks the server once what it would do; what is shown is what would be recorded.

(() => {
  const form = document.getElementById("visit");
  const swap = document.getElementById("swap");
  if (!form || !swap) return;

  const PAUSE_MS = 150;
  const AGAIN_MS = 4000;
  const seen = document.getElementById("tried");
  const said = document.getElementById("swap-said");
  const fit = new Map();
  let asking = null;
  let timer = 0;

  const field = (name) => form.elements.namedItem(name);
  const chosen = (name) => new FormData(form).get(name) ?? "";

  function set(name, value) {
    const one = field(name);
    if (!one || one.value === value) return;
    one.value = value;
    const changed = one instanceof RadioNodeList ? [...one].find((radio) => radio.checked) : one;
    changed?.dispatchEvent(new Event("change", { bubbles: true }));
  }

  // What the package would do.

  function tryLater(after = PAUSE_MS) {
    clearTimeout(timer);
    timer = setTimeout(tryNow, after);
  }

  // A row that is changed, and not yet for what, waits for its material.
  function halfSaid() {
    return [...swap.querySelectorAll("[name$='/act'][value='swapped']:checked")].find(
      (radio) => !field(radio.name.replace(/act$/, "material")).value,
    );
  }

  // Until then the drawing is of the package before.
  function tellWhatIsHalfSaid(radio) {
    const [role] = radio.closest("[role=group], fieldset").textContent.trim().split(":");
    const line = seen.querySelector(".half-said") ?? Object.assign(document.createElement("p"), { className: "half-said" });
    line.textContent = said.textContent = `${role}: choose what it is changed for; until then this is drawn without any change.`;
    seen.prepend(line);
  }

  async function tryNow() {
    const half = halfSaid();
    if (half) return tellWhatIsHalfSaid(half);
    asking?.abort();
    asking = new AbortController();
    seen.setAttribute("aria-busy", "true");
    const body = new URLSearchParams([...new FormData(form)].filter(([, value]) => typeof value === "string"));
    try {
      const answer = await fetch(swap.dataset.try, { method: "POST", body, signal: asking.signal });
      const part = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".as-it-would-be");
      if (part) show(part);
      else notKnown(answer.status < 500 ? "Your sign-in is over" : "The server did not answer");
    } catch (error) {
      if (error.name === "AbortError") return;
      notKnown("The network is away");
    }
    seen.removeAttribute("aria-busy");
  }

  // The drawing is of the package before: that must be seen, and asked again.
  function notKnown(why) {
    const line = seen.querySelector(".fault") ?? Object.assign(document.createElement("p"), { className: "fault" });
    line.textContent = said.textContent = `${why}: what this package would do is not known yet.`;
    seen.prepend(line);
    tryLater(AGAIN_MS);
  }

  function show(part) {
    seen.replaceChildren(document.adoptNode(part));
    const lines = [...part.querySelectorAll(".would-be, .dates-beside > .is-date, .fault")];
    const words = (line) => [...(line.children.length ? line.children : [line])].map((one) => one.textContent.trim());
    said.textContent = lines.map((line) => words(line).join(" ").replace(/\s+/g, " ")).join(". ");
  }

  // A row: stays, change, take out.

  function acted(radio) {
    const row = radio.closest(".swap-row");
    const name = (part) => `${row.dataset.row}/${part}`;
    if (chosen("mount/how") === "none") set("mount/how", field("dismount/done")?.checked ? "built" : "changed");
    row.dataset.act = radio.value;
    if (radio.value === "stays") restore(row);
    if (radio.value === "swapped") {
      if (field(name("material")).value === (row.dataset.wasMaterial ?? "")) field(name("material")).value = "";
      offer(row);
    }
  }

  function restore(row) {
    for (const part of ["material", "lot"]) {
      const was = row.dataset[part === "lot" ? "wasLot" : "wasMaterial"];
      if (was !== undefined) field(`${row.dataset.row}/${part}`).value = was;
    }
    row.querySelector(".fit-here").hidden = true;
  }

  async function offer(row) {
    const list = row.querySelector(".fit-here");
    const at = row.dataset.fitFor ?? row.dataset.old?.replace("layer/", "");
    if (at === undefined || !list) return;
    if (!fit.size) await loadFit();
    const choices = fit.get(at);
    if (!choices || (row.dataset.act ?? "swapped") !== "swapped") return;
    list.replaceChildren(...choices.map((choice) => choiceOf(row, choice)));
    list.hidden = false;
  }

  async function loadFit() {
    const answer = await fetch(swap.dataset.fit).catch(() => null);
    if (!answer?.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const list of page.querySelectorAll("ul.fit")) fit.set(list.dataset.for, [...list.querySelectorAll("[data-material]")]);
  }

  function choiceOf(row, choice) {
    const item = document.createElement("li");
    const button = Object.assign(document.createElement("button"), { type: "button" });
    button.append(...[...choice.querySelector("p").childNodes].map((node) => node.cloneNode(true)));
    if (!choice.querySelector(".sound")) button.append(why(choice));
    button.addEventListener("click", () => take(row, choice.dataset));
    item.append(button);
    return item;
  }

  function why(choice) {
    const words = choice.querySelector("p + p").textContent;
    return Object.assign(document.createElement("span"), { className: "quiet", textContent: words });
  }

  function take(row, { material, lot }) {
    set(`${row.dataset.row}/material`, material);
    const lotField = field(`${row.dataset.row}/lot`);
    if (lotField) lotField.value = lot;
    // The field is told first, for being in it opens the list.
    field(`${row.dataset.row}/material`).focus();
    row.querySelector(".fit-here").hidden = true;
    tryLater();
  }

  function materialTyped(input) {
    const row = input.closest(".swap-row");
    const act = `${row.dataset.row}/act`;
    if (field(act) && input.value && input.value !== row.dataset.wasMaterial && chosen(act) === "stays") set(act, "swapped");
  }

  // How it came off, in one tap.

  function cameOff(button) {
    const [outcome, freedBy, residue] = button.dataset.off.split("|");
    for (const one of form.querySelectorAll("select[name^='dismount/'][name$='outcome']")) {
      const at = one.name.replace(/outcome$/, "");
      set(`${at}outcome`, outcome);
      set(`${at}freed_by`, freedBy);
      set(`${at}residue`, residue);
    }
    const done = field("dismount/done");
    if (done.checked !== (outcome !== "tried and left")) done.click();
  }

  // From the drawing to its row.

  function rowOf(part) {
    const step = part.closest(".step") ?? form;
    const at = CSS.escape(part.dataset.part);
    return step.querySelector(`[data-row="${at}"], [data-old="${at}"]`);
  }

  function toRow(row) {
    if (row instanceof HTMLDetailsElement) row.open = true;
    const first = row.querySelector("summary, input:not([type=hidden]), select");
    (first ?? row).focus({ preventScroll: true });
    row.scrollIntoView({ block: "center", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  }

  for (const row of swap.querySelectorAll(".swap-row[data-old]")) {
    const radio = row.querySelector("input[type=radio]:checked");
    row.dataset.act = radio?.value ?? "stays";
  }

  swap.addEventListener("change", (event) => {
    if (event.target.name?.endsWith("/act")) acted(event.target);
    if (event.target.name?.endsWith("/material")) materialTyped(event.target);
    tryLater();
  });
  swap.addEventListener("focusin", (event) => {
    if (event.target.name?.endsWith("/material")) offer(event.target.closest(".swap-row"));
  });
  document.addEventListener("click", (event) => {
    // A visit come back to: "change" is chosen already, and is tapped to choose again.
    if (event.target.matches?.(".swap [name$='/act'][value='swapped']")) offer(event.target.closest(".swap-row"));
    const part = event.target.closest?.(".package-drawing [data-part]");
    const row = part && rowOf(part);
    if (row) return toRow(row);
    const button = event.target.closest?.("button[data-off], button[data-usual]");
    if (button?.dataset.off !== undefined) cameOff(button);
    if (button?.dataset.usual) {
      set("mount/house_package", button.dataset.usual);
      set("mount/how", "usual");
    }
  });
  // Enter in a field of the package tries it; it does not send the visit.
  swap.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("input[type=text], input:not([type])")) return;
    event.preventDefault();
    event.target.dispatchEvent(new Event("change", { bubbles: true }));
  });
  document.documentElement.classList.add("swaps");
})();
