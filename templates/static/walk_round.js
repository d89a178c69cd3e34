// The walk-round: every answer is kept on this tablet as it is given, and recorded by one Finish.
//
// One walks where the network does not reach: until the server has answered that the walk is on
// record, the answers stay in this browser's storage. A walk that was sent is sent again under
// the same key until there is an answer, so that it is recorded once.

{
const AGAIN_MS = 4000;
const LONGEST_MS = 20000;
const STORE = "hingebook-walk:";
const UNANSWERED = "";
const AS_BEFORE = "as before";
// Of the page, not of what was answered.
const OF_THE_PAGE = new Set(["form_token", "repeat_key", "listed", "last_walk", "rest", "knows"]);
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
const kept = () => {
  try {
    return Object.keys(localStorage).filter((name) => name.startsWith(STORE));
  } catch {
    return [];
  }
};

// A walk that was recorded needs not be kept any longer: its key stands behind the address.
const arrived = location.hash.startsWith("#arrived-") && location.hash.slice("#arrived-".length);
if (arrived) {
  for (const name of kept()) if (read(name)?.key === arrived) drop(name);
  history.replaceState(null, "", location.pathname + location.search);
}

// Where one has begun and not finished.
for (const list of document.querySelectorAll("ul.rooms")) {
  for (const name of kept()) {
    const [person, place] = name.slice(STORE.length).split(":");
    const link = list.querySelector(`a[href="/walk-round/${place}"]`);
    if (person !== list.dataset.person || !link) continue;
    link.append(Object.assign(document.createElement("span"), { className: "begun", textContent: "begun on this tablet" }));
  }
}

const form = document.getElementById("walk");
if (form) new Walk(form).begin();

function Walk(form) {
  const place = `${STORE}${form.dataset.person}:${form.dataset.place}`;
  const works = [...form.querySelectorAll("[data-work]")];
  const state = document.getElementById("kept");
  const part = (name) => form.querySelector(`[data-${name}]`);
  let isSent = false;
  let isPassing = false;
  let timer = 0;
  let restTaken = [];

  this.begin = () => {
    const before = read(place);
    // A page that answers to what was sent shows what was sent.
    say("nothing", "Nothing answered yet");
    if (before && !("answer" in form.dataset)) takeUp(before);
    else if ("answer" in form.dataset) keep();
    form.dataset.keeps = "";
    form.addEventListener("input", changed);
    form.addEventListener("change", changed);
    form.addEventListener("keydown", (event) => {
      // Enter in a field goes on to nothing by itself.
      if (event.key === "Enter" && event.target.matches("input")) event.preventDefault();
    });
    form.addEventListener("click", clicked);
    document.addEventListener("submit", submitted);
    addEventListener("online", () => isSent && finish());
    addEventListener("storage", (event) => event.key === place && event.newValue && fill(read(place).told));
    // Gone back to a walk that is finished: the page is asked for anew.
    addEventListener("pageshow", (event) => event.persisted && location.reload());
    addEventListener("load", () => {
      for (const picture of form.querySelectorAll("summary > img")) picture.loading = "eager";
    });
    for (const picture of form.querySelectorAll(".walk-picture img")) comesLater(picture);
    for (const work of works) mindWords(work);
    count();
    form.querySelector(".fault")?.closest("[data-work]")?.scrollIntoView({ block: "center" });
  };

  // What is kept on this tablet.

  function takeUp(before) {
    fill(before.told);
    form.elements.last_walk.value = before.lastWalk;
    form.elements.repeat_key.value = before.key;
    say("kept", `Taken up again: ${works.length - unanswered().length} answers kept on this tablet.`);
    if (before.isSent) finish();
  }

  function fields() {
    return [...new FormData(form)].filter(([name]) => !OF_THE_PAGE.has(name));
  }

  function keep() {
    // Whoever signs out may have thrown it away a moment ago; see hingebook.js.
    if (document.querySelector("form.leave[data-thrown-away]")) return;
    const { last_walk: lastWalk, repeat_key: key } = form.elements;
    const entry = { told: fields(), lastWalk: lastWalk.value, key: key.value, isSent };
    try {
      localStorage.setItem(place, JSON.stringify(entry));
      say("kept", "Kept on this tablet");
    } catch {
      say("lost", "This browser keeps nothing: finish before you leave the page");
    }
  }

  function fill(told) {
    const values = new Map();
    for (const [name, value] of told) values.set(name, [...(values.get(name) ?? []), value]);
    for (const field of form.elements) {
      if (!field.name || OF_THE_PAGE.has(field.name) || field.type === "submit") continue;
      const given = values.get(field.name) ?? [];
      if (["checkbox", "radio"].includes(field.type)) field.checked = given.includes(field.value);
      else field.value = given[0] ?? "";
    }
    for (const work of works) mindWords(work);
    count();
  }

  function changed(event) {
    const work = event.target.closest("[data-work]");
    if (work) mindWords(work, event.target);
    if (event.target.name?.startsWith("was-")) takenBack();
    if (isSent) sentNoMore();
    keep();
    count();
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

  // How far one is.

  function answerOf(work) {
    return work.querySelector(".answer :checked")?.value ?? UNANSWERED;
  }

  function unanswered() {
    return works.filter((work) => answerOf(work) === UNANSWERED);
  }

  function count() {
    const counts = {};
    for (const work of works) {
      const answer = answerOf(work);
      counts[answer] = (counts[answer] ?? 0) + 1;
      const mark = document.getElementById(`mark-${work.dataset.work}`);
      mark.dataset.answer = answer;
      mark.setAttribute("y", TOPS[answer]);
      mark.setAttribute("height", FOOT - TOPS[answer]);
      if (answer) settled(work);
    }
    const left = counts[UNANSWERED] ?? 0;
    part("progress").textContent = `${works.length - left} of ${works.length}`;
    part("counts").textContent = Object.keys(TOPS)
      .filter((answer) => answer && answer !== AS_BEFORE && counts[answer])
      .map((answer) => `${counts[answer]} ${answer}`)
      .join(", ");
    part("next").hidden = left === 0;
    part("forget").hidden = left === works.length;
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

  // All the rest: by its own press, and to be taken back.

  function answerRest(answer) {
    restTaken = unanswered();
    for (const work of restTaken) work.querySelector(`[value="${answer}"]`).checked = true;
    const these = restTaken.length === 1 ? "1 work had no answer: it is" : `${restTaken.length} works had no answer: they are`;
    const line = part("rest-said");
    line.textContent = `${these} ${answer}.`;
    const back = Object.assign(document.createElement("button"), { type: "button", textContent: "Take that back" });
    back.addEventListener("click", () => {
      for (const work of restTaken) for (const radio of work.querySelectorAll(".answer input")) radio.checked = false;
      takenBack();
      if (isSent) sentNoMore();
      keep();
      count();
      form.querySelector("button[name=rest]").focus();
    });
    line.append(back);
    if (isSent) sentNoMore();
    keep();
    count();
    back.focus();
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

  async function finish() {
    clearTimeout(timer);
    const left = unanswered();
    if (left.length) {
      say("missing", left.length === 1 ? "One work has no answer yet" : `${left.length} works have no answer yet`);
      goTo(left[0]);
      return;
    }
    const untold = works.find((work) => answerOf(work) === "different" && !work.classList.contains("has-words"));
    if (untold) {
      say("missing", `Say what is different of ${untold.querySelector(".number").textContent}`);
      untold.scrollIntoView({ block: "center" });
      untold.querySelector("textarea").focus({ preventScroll: true });
      return;
    }
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
      drop(place);
      isPassing = true;
      location.assign(answer.url);
    } else {
      isSent = false;
      keep();
      // It did arrive, and was changed since: told anew it is shown beside what arrived.
      if (await isChangedSince(answer)) {
        sentNoMore();
        finish();
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
    const signs = crypto.getRandomValues(new Uint8Array(16));
    form.elements.repeat_key.value = [...signs].map((sign) => sign.toString(16).padStart(2, "0")).join("");
  }

  function signInAgain() {
    say("signed-out", "Kept on this tablet, your sign-in is over. ");
    const way = `/sign-in?next=/walk-round/${form.dataset.place}`;
    state.append(Object.assign(document.createElement("a"), { href: way, textContent: "Sign in again" }));
  }

  // Let the browser send the form as it does without a script: its answer is a page to read.
  function pass() {
    isPassing = true;
    form.requestSubmit(part("finish"));
    isPassing = false;
  }

  function submitted(event) {
    if (event.target !== form || isPassing) return;
    event.preventDefault();
    const by = event.submitter;
    if (by?.name === "rest") {
      answerRest(by.value);
      return;
    }
    // Who records beside a walk of somebody else has seen it.
    if (by?.name === "knows") form.elements.last_walk.value = by.value;
    finish();
  }

  function clicked(event) {
    if (event.target.closest("[data-next]")) next();
    if (event.target.closest("[data-drop]")) drop(place);
    if (event.target.closest("[data-forget]") && confirm("Forget all answers of this walk-round?")) {
      drop(place);
      location.assign(form.action);
    }
  }

  function say(what, words) {
    state.dataset.state = what;
    state.textContent = words;
  }
}
}
