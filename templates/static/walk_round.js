// The walk-round: every answer is saved as it is given, and the walk is recorded by one Finish.
//
// One walks where the network does not reach: an answer goes into this browser's storage first
// and then to the server; only what the server has said it keeps is taken out of the storage
// again. Only the works that were answered for are sent, so that two tablets may walk one round.
// A walk that was sent is sent again under the same key until there is an answer, so that it is
// recorded once.

{
const PAUSE_MS = 600;
const AGAIN_MS = 4000;
const LONGEST_MS = 20000;
// So often a page asks what other tablets have answered.
const LOOK_MS = 20000;
const STORE = "hingebook-walk:";
const UNANSWERED = "";
const AS_BEFORE = "as before";
// What belongs to no work: the day, who walked, what was seen of each, the note.
const OF_THE_WALK = "walk";
const OF_THE_WHOLE = ["on", "by", "note", "seen"];
// The heights of the marks, as templates/walk_round/_line.html has them.
const FOOT = 12;
const TOPS = { "": 10, "as before": 5, different: 0, "not found": 0, "not looked at": 8 };

const read = (name) => {
  try {
    return JSON.parse(localStorage.getItem(name));
  } catch {
    return null;
  }
};
const drop = (name) => {
  try {
    localStorage.removeItem(name);
  } catch {
    // Nothing is kept here.
  }
};
const kept = (of = "") => {
  try {
    return Object.keys(localStorage).filter((name) => name.startsWith(STORE + of));
  } catch {
    return [];
  }
};
const newKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((sign) => sign.toString(16).padStart(2, "0")).join("");
const made = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

// What is kept here of a walk, as the server takes it.
const bodyOf = (entry, token) => {
  const body = new URLSearchParams([["form_token", token], ["draft", entry.draft], ["version", entry.version], ["hand", entry.hand], ["last_walk", entry.lastWalk]]);
  for (const [work, fields] of Object.entries(entry.told)) {
    body.append("of", work);
    for (const [name, value] of fields) body.append(work === OF_THE_WALK ? name : `${name}-${work}`, value);
  }
  return body;
};
const sendAnswers = (place, entry, token, more = {}) =>
  fetch(`/walk-round/${place}/answers`, { method: "POST", body: bodyOf(entry, token), headers: { Accept: "application/json" }, ...more }).catch(() => null);

// A walk that was recorded needs not be kept any longer: its key stands behind the address.
const arrived = location.hash.startsWith("#arrived-") && location.hash.slice("#arrived-".length);
if (arrived) {
  for (const name of kept()) if (read(name)?.key === arrived) drop(name);
  history.replaceState(null, "", location.pathname + location.search);
}

// Where one has begun on this tablet, without a network: it is sent, and shown as it is kept.
const rooms = document.querySelectorAll("ul.rooms");
if (rooms.length) sendWaiting(document.querySelector("form.leave"));

async function sendWaiting({ dataset, elements }) {
  let sent = false;
  for (const name of kept(`${dataset.person}:`)) {
    const [place] = name.slice(`${STORE}${dataset.person}:`.length).split(":");
    const entry = read(name);
    // What was finished is recorded on its own page, and so is what another tablet contradicts.
    const answer = entry?.isSent ? null : await sendAnswers(place, entry, elements.form_token.value);
    const told = answer?.ok ? await answer.json() : null;
    if (told && !Object.keys(told.contradicted).length) {
      drop(name);
      sent = true;
      continue;
    }
    const link = document.querySelector(`ul.rooms a[href="/walk-round/${place}"]`);
    link?.append(made("span", "answers on this tablet not sent yet", { className: "begun" }));
  }
  if (sent) location.reload();
}

const form = document.getElementById("walk");
if (form) new Walk(form).begin();

function Walk(form) {
  const { person, place } = form.dataset;
  const mine = `${STORE}${person}:${place}:`;
  // Of two pages of one walk each keeps its own.
  const own = () => mine + form.elements.hand.value;
  const works = [...form.querySelectorAll("[data-work]")];
  const workOf = new Map(works.map((work) => [work.dataset.work, work]));
  const parts = [...form.querySelectorAll("[data-of-part]")].map((line) => {
    const its = document.getElementById(line.dataset.ofPart).querySelectorAll("[data-work]");
    return [line, [...its].map((work) => work.dataset.work)];
  });
  const keptHere = () => kept(`${person}:${place}:`);
  const state = document.getElementById("kept");
  const part = (name) => form.querySelector(`[data-${name}]`);
  // What the server does not keep yet, and where it keeps something else.
  const unsaved = new Set();
  const contradicted = new Set();
  // What this page had seen before something was contradicted: until somebody has chosen, an
  // answer that waits here is told on top of that, and the question comes again.
  let seenBefore = "0";
  const answers = new Map();
  let isSent = false;
  let isPassing = false;
  // What an earlier page has kept is told as by that page, and all that follows as by this one.
  const hand = form.elements.hand.value;
  let sending = null;
  let timer = 0;
  let restTaken = [];

  this.begin = () => {
    for (const work of works) {
      if (work.querySelector(".walk-different")) mindWords(work);
      answers.set(work.dataset.work, work.querySelector(".answer :checked")?.value ?? UNANSWERED);
    }
    const waiting = keptHere()[0];
    say("nothing", form.dataset.saved ? `Everything saved, ${form.dataset.saved}` : "Nothing answered yet");
    // A page that answers to what was sent shows what was sent, and the server keeps none of it.
    if ("answer" in form.dataset) {
      everythingHere().forEach((work) => unsaved.add(work));
      changedHere();
    } else if (waiting) takeUp(read(waiting));
    // The day of a walk is the one on which it was begun.
    else if (form.elements.version.value === "0") unsaved.add(OF_THE_WALK);
    form.dataset.keeps = "";
    form.addEventListener("input", changed);
    form.addEventListener("change", changed);
    form.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || !event.target.matches("input")) return;
      // Enter in a field goes on to nothing by itself.
      event.preventDefault();
      if (event.target.closest("[data-find]")) find(event.target.value);
    });
    form.addEventListener("click", clicked);
    document.addEventListener("submit", submitted);
    addEventListener("online", () => (isSent ? finish() : unsaved.size && save()));
    addEventListener("pagehide", leave);
    // Gone back to a walk that is finished: the page is asked for anew.
    addEventListener("pageshow", (event) => event.persisted && location.reload());
    // Taken up again after somebody went on elsewhere.
    document.addEventListener("visibilitychange", lookElsewhere);
    setInterval(lookElsewhere, LOOK_MS);
    addEventListener("load", () => {
      for (const picture of form.querySelectorAll("summary > img")) picture.loading = works.length > 100 ? "lazy" : "eager";
    });
    for (const picture of form.querySelectorAll(".walk-picture img")) comesLater(picture);
    if (part("find")) part("find").hidden = false;
    count();
    form.querySelector(".fault")?.closest("[data-work]")?.scrollIntoView({ block: "center" });
  };

  function lookElsewhere() {
    const isAtRest = ["kept", "missing", "nothing"].includes(state.dataset.state);
    if (!document.hidden && !isSent && form.elements.version.value !== "0" && isAtRest) save();
  }

  // What is kept on this tablet.

  function takeUp(entry) {
    if (!entry) return;
    form.elements.draft.value = entry.draft;
    form.elements.version.value = entry.version;
    form.elements.hand.value = entry.hand;
    form.elements.last_walk.value = entry.lastWalk;
    form.elements.repeat_key.value = entry.key;
    for (const [work, fields] of Object.entries(entry.told)) {
      if (work !== OF_THE_WALK && !workOf.has(work)) continue;
      fill(work, fields);
      unsaved.add(work);
    }
    say("kept", `Taken up again: ${works.length - unanswered().length} answers kept on this tablet.`);
    if (entry.isSent) finish();
    else save();
  }

  // The fields of a work are looked for in its own line: by the form each would be sought among
  // the thousands of a long room.
  function inputsOf(work) {
    if (work === OF_THE_WALK) return OF_THE_WHOLE.flatMap((name) => [...form.querySelectorAll(`[name="${name}"]`)].map((input) => [name, input]));
    const inputs = [...workOf.get(work).querySelectorAll("input:not([type=hidden]), select, textarea")];
    return inputs.map((input) => [input.name.slice(0, -work.length - 1), input]);
  }

  function fieldsOf(work) {
    return inputsOf(work)
      .filter(([, input]) => input.value && (!["checkbox", "radio"].includes(input.type) || input.checked))
      .map(([name, input]) => [name, input.value]);
  }

  function entryNow(works = unsaved) {
    const { draft, version, hand, last_walk: lastWalk, repeat_key: key } = form.elements;
    // What was sent to be recorded is sent whole again, whatever became of the draft meanwhile.
    const those = isSent ? everythingHere() : [...works];
    const told = Object.fromEntries(those.map((work) => [work, fieldsOf(work)]));
    return { draft: draft.value, version: version.value, hand: hand.value, lastWalk: lastWalk.value, key: key.value, isSent, told };
  }

  function everythingHere() {
    return [OF_THE_WALK, ...[...workOf.keys()].filter((work) => answers.get(work))];
  }

  function keep() {
    const entry = entryNow([...unsaved, ...contradicted]);
    if (contradicted.size) entry.version = seenBefore;
    // Whoever signs out may have thrown it away a moment ago; see hingebook.js.
    if (document.querySelector("form.leave[data-thrown-away]")) return false;
    try {
      localStorage.setItem(own(), JSON.stringify(entry));
      return true;
    } catch {
      return false; // The storage is full or forbidden: then only the server keeps it.
    }
  }

  function fill(work, fields) {
    const values = new Map();
    for (const [name, value] of fields) values.set(name, [...(values.get(name) ?? []), value]);
    if (work !== OF_THE_WALK && ["term", "note", "left"].some((name) => values.has(name))) asked(workOf.get(work));
    for (const [name, input] of inputsOf(work)) {
      const given = values.get(name) ?? [];
      if (["checkbox", "radio"].includes(input.type)) input.checked = given.includes(input.value);
      else if (given.length || input.type !== "select-one" || input.options[0].value === "") input.value = given[0] ?? "";
    }
    if (work !== OF_THE_WALK) mindWords(workOf.get(work));
    count(work);
  }

  function changed(event) {
    const work = event.target.closest("[data-work]");
    if (event.target.closest("[data-find]")) return;
    if (work) {
      if (event.target.value === "different") asked(work);
      mindWords(work, event.target);
    }
    if (event.target.name?.startsWith("was-")) takenBack();
    const one = work ? work.dataset.work : OF_THE_WALK;
    if (!contradicted.has(one)) return told(one);
    // Whoever goes on typing has not chosen: the question stays.
    count(one);
    keep();
  }

  // Something of these works was answered here.
  function told(...those) {
    if (isSent) sentNoMore();
    for (const work of those) {
      unsaved.add(work);
      count(work);
    }
    changedHere();
  }

  function changedHere() {
    const isKept = keep();
    if (state.dataset.state !== "away") say(isKept ? "writing" : "lost", isKept ? "Saving" : "This browser keeps nothing, and nothing is saved yet");
    clearTimeout(timer);
    timer = setTimeout(save, PAUSE_MS);
  }

  // What is different is asked of the works that are.
  function asked(work) {
    if (work.querySelector(".walk-different")) return;
    const key = work.dataset.work;
    const fields = document.getElementById("different").content.cloneNode(true);
    for (const field of fields.querySelectorAll("[id], [name], [for], [aria-describedby]")) {
      for (const name of ["id", "name", "for", "aria-describedby"]) {
        const value = field.getAttribute(name);
        if (value?.endsWith("-0")) field.setAttribute(name, value.slice(0, -1) + key);
      }
    }
    work.append(fields);
  }

  // What is written beside a work says that it is different; written words stay in sight.
  function mindWords(work, field) {
    const texts = [...work.querySelectorAll(".walk-different :is(input, textarea)")];
    const hasWords = texts.some((text) => text.value.trim());
    work.classList.toggle("has-words", hasWords);
    if (hasWords && texts.includes(field)) work.querySelector("[value=different]").checked = true;
  }

  // A picture that the network did not bring is asked for again when it is back.
  function comesLater(picture) {
    picture.addEventListener("error", () => picture.classList.add("is-away"));
    picture.addEventListener("load", () => picture.classList.remove("is-away"));
    addEventListener("online", () => {
      if (picture.classList.contains("is-away")) picture.src = picture.getAttribute("src");
    });
  }

  // Saving.

  // Resolves to whether the server keeps all that is answered here.
  function save() {
    // What was sent to be recorded is no draft any longer.
    if (isSent || isPassing) return Promise.resolve(false);
    clearTimeout(timer);
    sending ??= send().finally(() => (sending = null));
    return sending;
  }

  async function send() {
    for (;;) {
      for (const work of contradicted) unsaved.delete(work);
      const entry = entryNow();
      if (unsaved.size) keep();
      const answer = await sendAnswers(place, entry, form.elements.form_token.value);
      if (isSent || isPassing) return false;
      if (!answer || answer.status >= 500) return later();
      if (answer.status === 409) return tellThatItIsOver();
      if (answer.status === 401 || answer.status === 403) return signInAgain();
      if (!answer.ok) return say("refused", "Kept on this tablet, the server does not take it");
      taken(entry, await answer.json());
      if (form.elements.hand.value !== hand) {
        drop(own());
        form.elements.hand.value = hand;
      }
      if (unsaved.size) continue;
      if (contradicted.size) keep();
      else drop(own());
      return !contradicted.size;
    }
  }

  function taken(entry, answer) {
    if (!contradicted.size) seenBefore = entry.version;
    form.elements.draft.value = answer.key;
    for (const [work, fields] of Object.entries(entry.told)) {
      if (JSON.stringify(fieldsOf(work)) === JSON.stringify(fields)) unsaved.delete(work);
    }
    // What was answered here while this was under way has not seen what came back with it: it is
    // told on top of what this page had seen before, and both are shown where they differ.
    if (!Object.keys(answer.elsewhere).some((work) => unsaved.has(work))) form.elements.version.value = answer.version;
    for (const [work, fields] of Object.entries(answer.elsewhere)) {
      if (!unsaved.has(work) && !contradicted.has(work) && (work === OF_THE_WALK || workOf.has(work))) fill(work, flat(fields));
    }
    for (const [work, { fields, said }] of Object.entries(answer.contradicted)) contradict(work, flat(fields), said);
    if (contradicted.size) say("missing", contradicted.size === 1 ? "On another tablet one work was answered otherwise" : `On another tablet ${contradicted.size} works were answered otherwise`);
    else if (!unsaved.size) say("kept", `Everything saved, ${answer.saved}`);
  }

  function flat(fields) {
    return Object.entries(fields).flatMap(([name, values]) => values.map((value) => [name, value]));
  }

  function later() {
    say("away", "Kept on this tablet, the network is away");
    timer = setTimeout(save, AGAIN_MS);
    return false;
  }

  // Recorded on another tablet: what is answered here after that is a walk of its own, once it
  // is finished here too.
  function tellThatItIsOver() {
    const before = document.getElementById("walk-is-over");
    const words = unsaved.size ? " What you answered here since stays on this tablet: finish it as a walk of its own, or forget it below." : "";
    const line = made("p", `This walk was finished on another tablet.${words} `, { className: "notice", id: "walk-is-over" });
    line.setAttribute("role", "status");
    line.append(made("a", "The rooms", { href: "/walk-round" }));
    if (before) before.replaceWith(line);
    else form.prepend(line);
    return say("over", "Finished on another tablet");
  }

  function leave() {
    if (unsaved.size && !isSent) sendAnswers(place, entryNow(), form.elements.form_token.value, { keepalive: true });
  }

  // Both are shown, and the person chooses.
  function contradict(work, fields, said) {
    if (work === OF_THE_WALK ? false : !workOf.has(work)) return;
    settledHere(work);
    contradicted.add(work);
    const line = made("div", "On another tablet: ", { className: "elsewhere", id: `elsewhere-${work}` });
    line.setAttribute("role", "status");
    line.append(made("strong", said));
    const choose = (words, act) => {
      const button = made("button", words, { type: "button" });
      button.addEventListener("click", () => {
        settledHere(work);
        act();
        told(work);
      });
      line.append(button);
    };
    choose("Take that", () => fill(work, fields));
    choose("Keep this one", () => null);
    if (work === OF_THE_WALK) form.querySelector(".walk-said").after(line);
    else workOf.get(work).querySelector(".walk-answers").after(line);
  }

  function settledHere(work) {
    contradicted.delete(work);
    document.getElementById(`elsewhere-${work}`)?.remove();
  }

  // How far one is.

  function unanswered() {
    return works.filter((work) => answers.get(work.dataset.work) === UNANSWERED);
  }

  // Of one work, or of all.
  function count(only) {
    for (const work of only ? [workOf.get(only)].filter(Boolean) : works) {
      const answer = work.querySelector(".answer :checked")?.value ?? UNANSWERED;
      answers.set(work.dataset.work, answer);
      const mark = document.getElementById(`mark-${work.dataset.work}`);
      if (mark) {
        mark.dataset.answer = answer;
        mark.setAttribute("y", TOPS[answer]);
        mark.setAttribute("height", FOOT - TOPS[answer]);
      }
      if (answer) settled(work);
    }
    const counts = {};
    for (const answer of answers.values()) counts[answer] = (counts[answer] ?? 0) + 1;
    const left = counts[UNANSWERED] ?? 0;
    part("progress").textContent = `${works.length - left} of ${works.length}`;
    part("counts").textContent = Object.keys(TOPS)
      .filter((answer) => answer && answer !== AS_BEFORE && counts[answer])
      .map((answer) => `${counts[answer]} ${answer}`)
      .join(", ");
    for (const [line, its] of parts) line.textContent = its.filter((work) => answers.get(work)).length;
    part("next").hidden = left === 0;
    part("forget").hidden = left === works.length && !Number(form.elements.version.value);
    part("rest-ask").hidden = left === 0;
    const said = form.elements.seen;
    const seen = [...(said.length ? said : [said])].filter((box) => box.checked).map((box) => box.value);
    const { on, by } = form.elements;
    part("said").textContent = `${on.value}${by.value ? `, by ${by.value}` : ""}${seen.length ? `; seen: ${seen.join(", ")}` : ""}`;
  }

  function settled(work) {
    const fault = document.getElementById(`fault-was-${work.dataset.work}`);
    if (!fault) return;
    fault.remove();
    work.classList.remove("wrong-work");
    const answers = work.querySelector(".walk-answers");
    answers.removeAttribute("aria-invalid");
    answers.removeAttribute("aria-describedby");
  }

  function goTo(work) {
    work.scrollIntoView({ block: "center" });
    work.querySelector(".answer input").focus({ preventScroll: true });
  }

  function next() {
    const left = unanswered();
    const here = works.indexOf(document.activeElement?.closest("[data-work]"));
    const after = left.find((work) => works.indexOf(work) > here) ?? left[0];
    if (after) goTo(after);
  }

  function find(words) {
    const wanted = words.trim().toLowerCase();
    const found = wanted && works.find((work) => work.querySelector(".walk-which").textContent.toLowerCase().includes(wanted));
    part("not-here").textContent = found || !wanted ? "" : `No work of this walk is called “${words.trim()}”.`;
    if (!found) return;
    form.querySelector(".walk-parts").open = false;
    goTo(found);
  }

  // All the rest: by its own press, and to be taken back.

  function answerRest(answer) {
    restTaken = unanswered();
    for (const work of restTaken) work.querySelector(`[value="${answer}"]`).checked = true;
    const these = restTaken.length === 1 ? "1 work had no answer: it is" : `${restTaken.length} works had no answer: they are`;
    const line = part("rest-said");
    line.textContent = `${these} ${answer}.`;
    const back = made("button", "Take that back", { type: "button" });
    back.addEventListener("click", () => {
      const those = restTaken;
      for (const work of those) for (const radio of work.querySelectorAll(".answer input")) radio.checked = false;
      takenBack();
      toldOfMany(those);
      form.querySelector("button[name=rest]").focus();
    });
    line.append(back);
    toldOfMany(restTaken);
    back.focus();
  }

  function toldOfMany(those) {
    if (isSent) sentNoMore();
    for (const work of those) unsaved.add(work.dataset.work);
    count();
    changedHere();
  }

  function takenBack() {
    restTaken = [];
    part("rest-said").textContent = "";
  }

  // Finishing.

  function body() {
    const told = new URLSearchParams();
    // Lines end as a browser ends them, so that it is the same request however it is sent.
    for (const [name, value] of new FormData(form)) told.append(name, value.replace(/\r?\n/g, "\r\n"));
    return told;
  }

  // What another tablet answered counts before anybody is asked for it here.
  async function sayWhatIsMissing() {
    if (contradicted.size || unanswered().length) await save();
    const [work] = contradicted;
    if (work) {
      say("missing", "On another tablet it was answered otherwise: choose");
      document.getElementById(`elsewhere-${work}`).scrollIntoView({ block: "center" });
      document.querySelector(`#elsewhere-${work} button`).focus({ preventScroll: true });
      return true;
    }
    const left = unanswered();
    if (left.length) {
      say("missing", left.length === 1 ? "One work has no answer yet" : `${left.length} works have no answer yet`);
      goTo(left[0]);
      return true;
    }
    const untold = works.find((one) => answers.get(one.dataset.work) === "different" && !one.classList.contains("has-words"));
    if (untold) {
      say("missing", `Say what is different of ${untold.querySelector(".number").textContent}`);
      untold.scrollIntoView({ block: "center" });
      untold.querySelector("textarea").focus({ preventScroll: true });
    }
    return Boolean(untold);
  }

  async function finish() {
    clearTimeout(timer);
    if (await sayWhatIsMissing()) return;
    await sending;
    clearTimeout(timer);
    isSent = true;
    keep();
    say("sending", "Recording");
    form.inert = true;
    const given = new AbortController();
    const late = setTimeout(() => given.abort(), LONGEST_MS);
    const answer = await fetch(form.action, { method: "POST", body: body(), headers: { Accept: "application/json" }, signal: given.signal }).catch(() => null);
    clearTimeout(late);
    form.inert = false;
    if (!answer || answer.status >= 500) {
      say("away", "Kept on this tablet, the network is away. It is sent as soon as it is back");
      timer = setTimeout(finish, AGAIN_MS);
    } else if (answer.redirected && answer.ok) {
      unsaved.clear();
      for (const name of keptHere()) drop(name);
      isPassing = true;
      location.assign(answer.url);
    } else {
      isSent = false;
      keep();
      // It did arrive, and was changed since: told anew it is shown beside what arrived.
      if (await isChangedSince(answer)) {
        sentNoMore();
        await finish();
      } else if (answer.status === 401 || answer.status === 403) signInAgain();
      else pass();
    }
  }

  async function isChangedSince(answer) {
    if (!answer.headers.get("content-type")?.includes("json")) return false;
    return (await answer.json().catch(() => ({}))).code === "key_of_another_request";
  }

  // What changes after it was sent is another walk: under a key of its own it is told beside the first.
  function sentNoMore() {
    isSent = false;
    clearTimeout(timer);
    form.elements.repeat_key.value = newKey();
  }

  function signInAgain() {
    say("signed-out", "Kept on this tablet, your sign-in is over. ");
    state.append(made("a", "Sign in again", { href: `/sign-in?next=/walk-round/${place}` }));
    return false;
  }

  // Let the browser send the form as it does without a script: its answer is a page to read.
  function pass(by = part("finish")) {
    isPassing = true;
    form.requestSubmit(by);
    isPassing = false;
  }

  function submitted(event) {
    if (event.target !== form || isPassing) return;
    event.preventDefault();
    const by = event.submitter;
    if (by?.name === "rest") answerRest(by.value);
    else if (by?.name === "later") save().then((isSaved) => (isSaved || contradicted.size || !navigator.onLine) && location.assign("/walk-round"));
    else if (by?.hasAttribute("formaction")) forget(by);
    else {
      // Who records beside a walk of somebody else has seen it.
      if (by?.name === "knows") form.elements.last_walk.value = by.value;
      finish();
    }
  }

  async function forget(by) {
    await save();
    unsaved.clear();
    for (const name of keptHere()) drop(name);
    pass(by);
  }

  function clicked(event) {
    if (event.target.closest("[data-next]")) next();
    const way = event.target.closest(".walk-parts a");
    if (way) form.querySelector(".walk-parts").open = false;
  }

  function say(what, words) {
    state.dataset.state = what;
    state.textContent = words;
    return false;
  }
}
}
