// The visit at the bench: every change is kept, whatever happens to page, network or server.
//
// Each change goes into this tablet's storage first and then to the visit's draft. Only what
// the server has said it keeps is taken out of the storage again. Steps are parts of one form,
// so going from one to the next needs no network.

{
const PAUSE_MS = 600;
const AGAIN_MS = 4000;
const LONGEST_READ_MS = 10_000;
const TAKEN_AWAY = "taken away at the bench";
const OF_THE_PAGE = new Set(["form_token", "hand", "version", "to"]);
const STORE = "hingebook-bench:";
const OPENED = new Set(["came-off", "package"]);

const form = document.getElementById("visit");
if (form) new Visit(form).begin();

function Visit(form) {
  const key = form.dataset.key;
  const mine = `${STORE}${form.dataset.person}:`;
  // Of two pages of one visit each keeps its own.
  const place = () => `${mine}${key}:${form.elements.hand.value}`;
  const state = document.getElementById("kept");
  let sending = null;
  let timer = 0;
  let passing = false;
  let isAway = false;

  this.begin = () => {
    const left = Object.keys(localStorage).find((name) => name.startsWith(`${mine}${key}:`));
    const waiting = left && read(left);
    // While a person chooses between two states, neither is sent by itself.
    if (waiting && !("elsewhere" in form.dataset)) {
      fillAgain(form, waiting.told, OF_THE_PAGE);
      askAndWarn();
      form.elements.version.value = waiting.version;
      form.elements.hand.value = waiting.hand;
      save();
    }
    // What was refused has an address that can only be sent to: going back would ask for it.
    if (/\/(record|outcome|tried)$/.test(location.pathname)) history.replaceState(null, "", `/bench/${key}/${step()}`);
    sendOthers();
    form.addEventListener("input", changed);
    form.addEventListener("change", changed);
    document.addEventListener("submit", submitted);
    document.addEventListener("click", clicked);
    addEventListener("online", () => read(place()) && save());
    addEventListener("pagehide", leave);
    addEventListener("popstate", () => show(location.pathname.split("/").pop()));
    document.documentElement.classList.add("with-script");
    form.dataset.keeps = "";
  };

  // What is kept on this tablet.

  function read(name) {
    try {
      return JSON.parse(localStorage.getItem(name));
    } catch {
      return null;
    }
  }

  function keep(entry) {
    // Whoever signs out may have thrown it away a moment ago; see hingebook.js.
    if (document.querySelector("form.leave[data-thrown-away]")) return false;
    try {
      localStorage.setItem(place(), JSON.stringify(entry));
      return true;
    } catch {
      return false; // The storage is full or forbidden: then only the server keeps it.
    }
  }

  // Saving.

  // Water, solvent or heat is asked about where it is chosen, not when all is done.
  // What the word that is chosen asks for, where it is chosen.
  function askAndWarn() {
    for (const wet of form.querySelectorAll("[data-wet]")) if (comesNear(wet)) wet.open = true;
    for (const said of form.querySelectorAll("[data-caution-of]")) {
      const field = form.elements[said.dataset.cautionOf];
      const options = [...(field.list ?? field).options];
      const caution = options.find((one) => one.value === field.value)?.dataset.caution ?? "";
      if (said.textContent !== caution) said.textContent = caution;
      said.hidden = !caution;
    }
  }

  function comesNear(wet) {
    const near = JSON.parse(wet.dataset.wet);
    const chosen = [...form.querySelectorAll(`select[name$="${wet.dataset.of}"]`)];
    return chosen.some((one) => near.includes(one.value));
  }

  // Asked once more, where one would go on without an answer; Finish asks in any case.
  function isAskedBefore(slug) {
    const steps = [...document.querySelectorAll(".step-line button")].map((button) => button.value);
    if (steps.indexOf(slug) <= steps.indexOf(step())) return false;
    const isOpen = (wet) => !("asked" in wet.dataset) && comesNear(wet) && !wet.querySelector("[name$='/why']").value.trim();
    const lacks = (wet) => [...wet.querySelectorAll(".asked")].find((question) => !question.querySelector(":checked"));
    const wet = [...document.querySelectorAll(`[data-step="${step()}"] [data-wet]`)].find((one) => isOpen(one) && lacks(one));
    if (!wet) return false;
    wet.dataset.asked = "";
    const said = Object.assign(document.createElement("p"), { className: "fault", textContent: "Before it comes near the work: answer these, or say why not." });
    said.setAttribute("role", "alert");
    wet.querySelector("summary").after(said);
    wet.open = true;
    wet.scrollIntoView({ block: "center" });
    lacks(wet).querySelector("input").focus({ preventScroll: true });
    return true;
  }

  function changed() {
    askAndWarn();
    keepNow();
    // Leaving a field to press "Look at both" is a change too: it must not take the button away.
    if (["elsewhere", "recorded"].includes(state.dataset.state)) return;
    // Nor the way to sign in; another page may have signed in meanwhile, so it is still sent.
    if (state.dataset.state !== "signed-out") say(isAway ? "away" : "writing");
    clearTimeout(timer);
    timer = setTimeout(save, PAUSE_MS);
  }

  function drop() {
    for (const name of Object.keys(localStorage)) if (name.startsWith(`${mine}${key}:`)) localStorage.removeItem(name);
  }

  function typed() {
    const [title] = document.title.split(" · ");
    return { told: toldIn(form, OF_THE_PAGE), version: form.elements.version.value, hand: form.elements.hand.value, title };
  }

  function keepNow() {
    const entry = typed();
    keep(entry);
    return entry;
  }

  function bodyOf(entry) {
    const body = new URLSearchParams(entry.told);
    body.set("version", entry.version);
    body.set("hand", entry.hand);
    body.set("form_token", form.elements.form_token.value);
    return body;
  }

  function post(to, entry, more) {
    return fetch(to, { method: "POST", body: bodyOf(entry), headers: { Accept: "application/json" }, ...more });
  }

  // Resolves to whether the server keeps all that stands in the form now.
  function save() {
    clearTimeout(timer);
    sending ??= send().finally(() => (sending = null));
    return sending;
  }

  async function send() {
    for (;;) {
      const entry = keepNow();
      const answer = await post(`/bench/${key}/${step()}`, entry).catch(() => null);
      if (!answer || answer.status >= 500) return later("away");
      if (answer.status === 409) return stopped((await isRecorded(answer)) ? "recorded" : "elsewhere");
      if (answer.status === 401 || answer.status === 403) return stopped("signed-out");
      if (!answer.ok) return stopped("refused");
      const kept = await answer.json();
      isAway = false;
      form.elements.version.value = kept.version;
      if (location.pathname.endsWith("/visits/new")) history.replaceState(null, "", `/bench/${key}/${step()}`);
      if (JSON.stringify(toldIn(form, OF_THE_PAGE)) === JSON.stringify(entry.told)) {
        localStorage.removeItem(place());
        say("saved", kept.saved);
        document.querySelector("[data-once-saved]").hidden = false;
        return true;
      }
    }
  }

  function later(why) {
    isAway = true;
    say(why);
    timer = setTimeout(save, AGAIN_MS);
    return false;
  }

  function stopped(why) {
    say(why);
    return false;
  }

  // Other visits of the same person that could not be sent when their pages were left.
  async function sendOthers() {
    for (const name of Object.keys(localStorage)) {
      const [other] = name.startsWith(mine) ? name.slice(mine.length).split(":") : [key];
      if (other === key) continue;
      const answer = await post(`/bench/${other}/start`, read(name)).catch(() => null);
      if (answer?.ok) localStorage.removeItem(name);
    }
  }

  function leave() {
    if (read(place())) post(`/bench/${key}/${step()}`, keepNow(), { keepalive: true }).catch(() => null);
  }

  function say(what, at = "") {
    const words = {
      writing: "Saving",
      saved: `Everything saved, ${at}`,
      away: "Kept on this tablet, the network is away",
      elsewhere: "Somebody changed this visit elsewhere. ",
      "signed-out": "Kept on this tablet, your sign-in is over. ",
      recorded: "Finished in another window; what you typed since stays on this tablet. ",
      refused: "Kept on this tablet, the server does not take it",
    };
    if (what === "signed-out" && state.dataset.state === what) return;
    state.dataset.state = what;
    state.textContent = words[what];
    if (what === "elsewhere") state.append(aButton("Look at both", () => pass(null)));
    if (what === "signed-out") state.append(aWay(`/sign-in?next=/bench/${key}`, "Sign in again"));
    if (what === "recorded") state.append(aWay("/bench", "See what becomes of it"));
  }

  function aButton(words, act) {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: words });
    button.addEventListener("click", act);
    return button;
  }

  // From step to step.

  function step() {
    return form.elements.step.value;
  }

  // What has been answered with yes stays closed: there is nothing to take off or to build.
  function isStopped() {
    // What was told of an open package before the yes must be within reach to be taken back.
    const isOpened = form.querySelector("[name='stop/from_notes']:checked, [name='dismount/done']:checked");
    return !isOpened && form.querySelector("[name^='stop/'][value='yes']:checked") !== null;
  }

  function go(slug) {
    if (isStopped() && OPENED.has(slug)) slug = "finish";
    if (slug === step() || isAskedBefore(slug)) return save();
    form.elements.step.value = slug;
    show(slug);
    history.pushState(null, "", `/bench/${key}/${slug}`);
    changed();
    const saved = save();
    if (slug === "finish") {
      // What was refused before is looked through anew.
      if (!("elsewhere" in form.dataset)) document.querySelector(".refused.window")?.remove();
      notYet(saved.then((kept) => kept && lookThrough()));
    }
    return saved;
  }

  // It stands where "go on" stood: a second tap must not record what nobody has read.
  function notYet(read) {
    const finish = document.querySelector(".way-on[data-step='finish'] button.first");
    finish.disabled = true;
    const longEnough = new Promise((passed) => setTimeout(passed, LONGEST_READ_MS));
    Promise.race([read, longEnough]).finally(() => (finish.disabled = false));
  }

  function show(slug) {
    if (!document.querySelector(`.step[data-step="${slug}"]`)) return;
    form.elements.step.value = slug;
    for (const part of document.querySelectorAll("[data-step]")) part.hidden = part.dataset.step !== slug;
    for (const button of document.querySelectorAll(".step-line button")) {
      if (button.value === slug) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
    }
    scrollTo(0, 0);
    const head = document.querySelector(`.step[data-step="${slug}"] :is(h2, legend)`);
    head?.setAttribute("tabindex", "-1");
    head?.focus({ preventScroll: true });
  }

  // What would be recorded and the next dates: worked out by the server, shown in place.
  async function lookThrough() {
    const answer = await post(`/bench/${key}/outcome`, typed()).catch(() => null);
    if (!answer) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const refused = page.querySelector(".refused");
    const part = refused ?? page.getElementById("outcome");
    if (!part || step() !== "finish") return;
    const outcome = document.getElementById("outcome");
    outcome.replaceChildren(...part.childNodes);
    mark(page);
  }

  // What is wrong stands beside its field here too, as on the page that the server would show.
  function mark(page) {
    for (const said of form.querySelectorAll("[data-said]")) said.remove();
    for (const box of form.querySelectorAll("[data-marked]")) {
      box.classList.remove("wrong");
      box.removeAttribute("data-marked");
    }
    for (const fault of page.querySelectorAll("#visit .fault[id^='fault-']")) {
      const box = document.getElementById(fault.id.slice("fault-".length))?.closest(".field, .choices");
      if (!box || document.getElementById(fault.id)) continue;
      box.classList.add("wrong");
      box.dataset.marked = "";
      box.append(document.importNode(fault, true));
      box.lastElementChild.dataset.said = "";
    }
  }

  function clicked(event) {
    const way = event.target.closest("a[href^='#']");
    const field = way && document.getElementById(decodeURIComponent(way.hash.slice(1)));
    const part = field?.closest(".step");
    if (part?.hidden) {
      event.preventDefault();
      go(part.dataset.step);
      field.closest("details")?.setAttribute("open", "");
      field.scrollIntoView({ block: "center" });
      field.focus();
    }
    const put = event.target.closest("[data-put]");
    if (put) {
      const into = document.getElementById(put.dataset.put);
      into.value = put.textContent.trim();
      told(into);
    }
    if (event.target.closest("[data-drop]")) drop();
    const clear = event.target.closest("[data-clear]");
    if (clear) clearAll(clear.dataset.clear);
    if (event.target.matches(".choices [type=radio]")) secondTap(event.target);
  }

  // What was chosen when the finger came down is taken back by the same tap.
  let wasChosen = null;
  form.addEventListener("pointerdown", (event) => {
    wasChosen = event.target.closest("label.choice")?.querySelector("[type=radio]:checked") ?? null;
  });

  function secondTap(radio) {
    if (radio !== wasChosen) return;
    wasChosen = null;
    radio.checked = false;
    told(radio);
  }

  // Side and "it is" go back to their first word, as in a row that nobody has touched.
  function clearAll(at) {
    for (const field of form.elements) {
      if (!field.name?.startsWith(`${at}/`)) continue;
      const isFirst = /\/(change|side)$/.test(field.name) && form.querySelector(`[name="${field.name}"]`) === field;
      if (["checkbox", "radio"].includes(field.type)) field.checked = isFirst;
      else field.value = "";
    }
    told(form.elements.namedItem(`${at}/term`));
  }

  function told(field) {
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function submitted(event) {
    if (event.target !== form || passing) return;
    event.preventDefault();
    if ("elsewhere" in form.dataset) {
      drop();
      delete form.dataset.elsewhere;
      document.querySelector(".refused")?.remove();
    }
    const by = event.submitter;
    if (by?.dataset.tick) {
      const box = form.querySelector(`[type=checkbox][name="${by.dataset.tick}"]`);
      if (box) box.checked = true;
      go(by.dataset.to);
    } else if (by?.hasAttribute("formaction")) {
      save().then((kept) => kept && pass(by));
    } else {
      go(by?.classList.contains("unseen") ? step() : by?.value || step());
    }
  }

  // Let the browser send the form as it does without a script.
  function pass(by) {
    passing = true;
    form.requestSubmit(by ?? document.querySelector(".visit-head button.unseen"));
    passing = false;
  }
}

// Where the visits are listed: what one's own pages kept on this tablet is sent, and then listed.
if (document.querySelector("[data-on-bench]")) sendWaiting(document.querySelector("form.leave"));

function aWay(href, textContent) {
  return Object.assign(document.createElement("a"), { href, textContent });
}

async function isRecorded(answer) {
  return (await answer.json().catch(() => ({}))).code === "recorded_already";
}

async function sendWaiting(leave) {
  const mine = `${STORE}${leave.dataset.person}:`;
  let arrived = false;
  for (const name of Object.keys(localStorage).filter((one) => one.startsWith(mine))) {
    const { told, version, hand, title } = JSON.parse(localStorage.getItem(name));
    const body = new URLSearchParams([...told, ["version", version], ["hand", hand], ["form_token", leave.elements.form_token.value]]);
    const [key] = name.slice(mine.length).split(":");
    const answer = await fetch(`/bench/${key}/start`, { method: "POST", body, headers: { Accept: "application/json" } }).catch(() => null);
    if (answer && !answer.ok && (await isRecorded(answer))) tellOfTooLate(name, key, told, title);
    if (!answer?.ok) continue;
    localStorage.removeItem(name);
    arrived = true;
  }
  if (arrived) location.reload();
}

// Typed in one window after the visit was finished in another: shown, until its person has done with it.
function tellOfTooLate(name, key, told, title) {
  const made = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });
  const box = made("div", "", { className: "on-bench" });
  const said = made("p", `${title}: typed in one window after it was finished in another, so it stands in no record. What is missing there can be put right on the page of the visit.`);
  const words = made("details", "");
  const isWritten = ([name, value]) => value && /(summary|note|why|reason|term)$/.test(name);
  const texts = told.filter(isWritten).map(([, value]) => value);
  words.append(made("summary", "What was typed"), ...texts.map((text) => made("p", text, { className: "as-written" })));
  const acts = made("div", "", { className: "acts" });
  const away = made("button", "Throw it away", { type: "button", className: "quiet-button" });
  away.addEventListener("click", () => {
    localStorage.removeItem(name);
    box.remove();
  });
  const way = aWay(`/bench/${key}`, "Look at the visit");
  way.className = "button";
  acts.append(way, away);
  box.append(said, words, acts);
  document.querySelector("[data-on-bench]").append(box);
}

// The photographs of this visit, shown where they are taken: taken anew, or taken away again.
const taken = document.querySelector("[data-taken]");
if (taken) new Taken(taken).begin();

function Taken(box) {
  this.begin = () => {
    look();
    addEventListener("photograph-kept", ({ detail }) => look().then(() => cleared(detail.id)));
    box.addEventListener("click", (event) => {
      const away = event.target.closest("[data-away]");
      const again = event.target.closest("[data-again]");
      if (away) takeAway(away.dataset.away, TAKEN_AWAY);
      if (again) takeAgain(again.dataset);
    });
  };

  // Without a network it stays as it is.
  async function look() {
    const answer = await fetch(box.dataset.taken).catch(() => null);
    if (!answer?.ok) return;
    box.innerHTML = await answer.text();
    gone.forEach(offerBack);
  }

  // What stands among those taken need not stand among those on their way.
  function cleared(id) {
    if (!box.querySelector(`a[href="/photographs/${id}"]`)) return;
    document.querySelector(`[data-takes] a[href="/photographs/${id}"]`)?.closest("li").remove();
  }

  // What was taken away here, until it is put back.
  const gone = [];
  async function takeAway(id, reason) {
    const body = new URLSearchParams({ form_token: form.elements.form_token.value, reason });
    const answer = await fetch(`/photographs/${id}/withdraw`, { method: "POST", body, redirect: "manual" }).catch(() => null);
    if (reason === TAKEN_AWAY && answer?.type === "opaqueredirect") gone.push(id);
    await look();
  }

  function offerBack(id) {
    const said = Object.assign(document.createElement("p"), { textContent: "Taken away. " });
    said.setAttribute("role", "status");
    const back = Object.assign(document.createElement("button"), { type: "button", className: "quiet-button", textContent: "Put it back" });
    back.addEventListener("click", async () => {
      const body = new URLSearchParams({ form_token: form.elements.form_token.value });
      const answer = await fetch(`/photographs/${id}/put-back`, { method: "POST", body, redirect: "manual" }).catch(() => null);
      if (answer?.type === "opaqueredirect") gone.splice(gone.indexOf(id), 1);
      look();
    });
    said.append(back);
    box.append(said);
  }

  // The old one goes when the new one is kept, and never before.
  function takeAgain({ again, ofView, ofStage }) {
    const inputs = [...document.querySelectorAll("[data-take] input[data-view]")];
    const input = inputs.find((one) => one.dataset.view === ofView && one.dataset.stage === ofStage);
    if (!input) return location.assign(`/photographs/${again}`);
    const chosen = () => addEventListener("photograph-kept", () => takeAway(again, "taken anew"), { once: true });
    input.addEventListener("change", chosen, { once: true });
    input.addEventListener("cancel", () => input.removeEventListener("change", chosen), { once: true });
    input.click();
  }
}
}
