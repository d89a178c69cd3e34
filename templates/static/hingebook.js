// "/" goes to the search, wherever one is reading.
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select, [contenteditable]");
  const search = document.querySelector("input.finds");
  if (event.key === "/" && !typing && search && !event.ctrlKey && !event.metaKey && !event.altKey) {
    event.preventDefault();
    search.focus();
    search.select();
  }
});

// What lies behind "More" closes by Escape, and when one goes elsewhere.
const more = document.querySelector("details.more");
if (more) {
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && more.open) {
      more.open = false;
      more.querySelector("summary").focus();
    }
  });
  for (const kind of ["pointerdown", "focusin"]) {
    document.addEventListener(kind, (event) => {
      if (more.open && !more.contains(event.target)) more.open = false;
    });
  }
}

// What may be meant, while one types: a combobox as WAI-ARIA has it. Without it the same words
// go to the list of works.
const WAIT_MS = 60;
const LONGEST_WAIT_MS = 700;
for (const field of document.querySelectorAll("input.finds")) {
  const list = document.createElement("ul");
  const status = document.createElement("p");
  list.id = `${field.id}-found`;
  list.className = "found";
  list.hidden = true;
  list.setAttribute("role", "listbox");
  list.setAttribute("aria-label", "What may be meant");
  status.className = "unseen";
  status.setAttribute("role", "status");
  field.after(list, status);
  const given = { role: "combobox", "aria-autocomplete": "list", "aria-expanded": "false" };
  for (const [name, value] of Object.entries(given)) field.setAttribute(name, value);
  field.setAttribute("aria-controls", list.id);
  // In the head the first that may be meant is taken by Enter; a list is narrowed instead.
  const takesFirst = field.id === "find";
  let asked = "";
  let shown = "";
  let coming = null;
  let timer = 0;

  const options = () => [...list.querySelectorAll("[role=option]")];
  const current = () => list.querySelector("[aria-selected=true]");
  const choose = (option) => {
    current()?.setAttribute("aria-selected", "false");
    option?.setAttribute("aria-selected", "true");
    option?.scrollIntoView({ block: "nearest" });
    if (option) field.setAttribute("aria-activedescendant", option.id);
    else field.removeAttribute("aria-activedescendant");
  };
  const close = () => {
    list.hidden = true;
    field.setAttribute("aria-expanded", "false");
    choose(null);
  };
  const open = () => {
    list.hidden = list.childElementCount === 0;
    field.setAttribute("aria-expanded", String(!list.hidden));
  };
  const ask = () => {
    const q = field.value.trim();
    if (q === asked) return;
    asked = q;
    coming = fill(q);
  };
  const fill = async (q) => {
    if (!q) {
      shown = q;
      list.replaceChildren();
      close();
      return;
    }
    let text = "";
    try {
      const answer = await fetch(`/suggestions?q=${encodeURIComponent(q)}`);
      if (!answer.ok || answer.redirected) return;
      text = await answer.text();
    } catch {
      // Without the network the words still go to the list by Enter, and that page says so.
      return;
    }
    if (q !== asked) return;
    shown = q;
    list.innerHTML = text;
    const count = options().length;
    status.textContent = count === 1 ? "1 suggestion" : `${count || "No"} suggestions`;
    open();
    choose(takesFirst ? options()[0] : null);
  };
  const go = (option) => location.assign(option.dataset.path);

  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, WAIT_MS);
  });
  field.addEventListener("focus", open);
  field.addEventListener("blur", close);
  field.addEventListener("keydown", async (event) => {
    if (event.isComposing) return;
    const all = options();
    const at = all.indexOf(current());
    if ((event.key === "ArrowDown" || event.key === "ArrowUp") && all.length) {
      event.preventDefault();
      open();
      const step = event.key === "ArrowDown" ? 1 : -1;
      choose(all[(at + step + all.length + (at < 0 && step < 0 ? 1 : 0)) % all.length]);
    } else if (event.key === "Escape" && !list.hidden) {
      event.preventDefault();
      close();
    } else if (event.key === "Enter" && takesFirst && field.value.trim()) {
      // What was typed last may still be on its way.
      event.preventDefault();
      clearTimeout(timer);
      ask();
      await Promise.race([coming, new Promise((done) => setTimeout(done, LONGEST_WAIT_MS))]);
      // What was meant by fewer letters is not what is asked for now.
      if (current() && shown === asked) go(current());
      else field.form.submit();
    } else if (event.key === "Enter" && current()) {
      event.preventDefault();
      go(current());
    }
  });
  // A press must not take the focus, or the list is gone before it is let go.
  list.addEventListener("pointerdown", (event) => event.preventDefault());
  list.addEventListener("click", (event) => {
    const option = event.target.closest("[role=option]");
    if (option) go(option);
  });
}

// Without a connection nothing is sent, and nothing typed is lost: it stays in its fields.
const connection = document.createElement("p");
connection.className = "connection";
connection.hidden = true;
connection.setAttribute("role", "status");
document.body.append(connection);
const say = (words) => {
  connection.textContent = words;
  connection.hidden = words === "";
};
window.addEventListener("offline", () => {
  say("There is no connection just now. What you type stays on this page.");
});
window.addEventListener("online", () => {
  say("The connection is back.");
  setTimeout(() => say(""), 4000);
});
document.addEventListener("submit", (event) => {
  // A form that keeps what it is told sends it by itself, when it can.
  if (navigator.onLine === false && !("keeps" in event.target.dataset)) {
    event.preventDefault();
    say("Not sent: there is no connection. What you typed is still here; send it again later.");
  }
}, true);

// Going back to a form, browsers fill in only some fields again. What was sent stays with its
// page of the history, for the same person; no word of a password does.
const typedInto = (form) => [...form.elements].filter((one) => one.name && !/^(hidden|password|file|submit|button)$/.test(one.type));
const whose = () => [location.pathname, document.querySelector("form.leave")?.dataset.person ?? ""].join();
document.addEventListener("submit", (event) => {
  const form = event.target;
  // A visit at the bench is kept by the server, step by step.
  if (event.defaultPrevented || form.method !== "post" || !form.matches(".sheet:not(#visit)")) return;
  const fields = typedInto(form).map(({ name, value, checked }) => [name, value, checked]);
  try {
    history.replaceState({ ...history.state, typed: { whose: whose(), at: [...document.forms].indexOf(form), fields } }, "");
  } catch {
    // More than a browser keeps: then it fills in what it does by itself.
  }
});
const before = history.state?.typed;
const cameBack = performance.getEntriesByType("navigation")[0]?.type === "back_forward";
if (cameBack && before?.whose === whose() && document.forms[before.at]) {
  const fields = typedInto(document.forms[before.at]);
  for (const [name, value, checked] of before.fields) {
    const isIt = (one) => one.name === name && (!/^(radio|checkbox)$/.test(one.type) || one.value === value);
    const at = fields.findIndex(isIt);
    if (at >= 0) Object.assign(fields.splice(at, 1)[0], { value, checked });
  }
}
// Somebody was quicker: of each field what is on record or what was typed is put into the form.
for (const button of document.querySelectorAll("[data-put-in]")) {
  const field = document.getElementsByName(button.dataset.putIn)[0];
  if (!field) continue;
  const isIn = () => field.value.trim() === button.dataset.value.trim();
  const told = () => button.setAttribute("aria-pressed", isIn());
  button.hidden = false;
  told();
  field.addEventListener("input", told);
  button.addEventListener("click", () => {
    if (field.tagName === "SELECT" && ![...field.options].some((one) => one.value === button.dataset.value)) field.add(new Option(button.dataset.value));
    field.value = button.dataset.value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
const back = document.querySelector("[data-back]");
if (back && history.length > 1) {
  back.hidden = false;
  back.addEventListener("click", () => history.back());
}

// The storage may be full or forbidden: then nothing is kept there, and nothing found. The other
// scripts ask by this too.
const stored = (ask) => {
  try {
    return ask();
  } catch {
    return null;
  }
};

// Photographs that have not arrived yet wait in this browser: every page says so to whoever
// took them, and to nobody else.
const leaving = document.querySelector("form.leave");
const photographsWaiting = () => stored(() => JSON.parse(localStorage.getItem(`hingebook-photographs-waiting:${leaving?.dataset.person}`)));
const tellOfWaiting = (words, way, wayWords) => {
  const notice = document.createElement("p");
  const link = document.createElement("a");
  notice.className = "notice";
  notice.textContent = `${words} `;
  link.href = way;
  link.textContent = wayWords;
  notice.append(link);
  document.querySelector("main").prepend(notice);
};
const onTheirWay = photographsWaiting();
if (onTheirWay && !document.querySelector("[data-take]")) {
  const { count, refused = 0, work } = onTheirWay;
  // Sent again as it is it would be refused again: somebody must look at it.
  const isRefused = count === refused;
  const which = count === 1 ? "A photograph" : `${count} photographs`;
  const words = isRefused ? `${which} could not be taken in.` : `${which} ${count === 1 ? "has" : "have"} not arrived yet.`;
  tellOfWaiting(words, `/works/${work}/photographs`, isRefused ? "See why" : "Go on sending");
}

// What a person's own pages have kept in this browser and the server does not have yet. It waits
// here for its person, whoever signs in meanwhile; thrown away it is only by a press that says so.
const ownUnsent = (person) => {
  const [bench, photographs] = [`hingebook-bench:${person}:`, `hingebook-photographs-waiting:${person}`];
  const [walk, drawn, typed] = [`hingebook-walk:${person}:`, `hingebook-drawn:${person}:`, `hingebook-typed:${person}:`];
  const visits = new Set();
  let written = 0;
  const walks = new Set();
  const names = [];
  try {
    for (const name of Object.keys(localStorage)) {
      if (name.startsWith(bench)) visits.add(name.slice(bench.length).split(":")[0]);
      if (name.startsWith(walk)) walks.add(name.slice(walk.length).split(":")[0]);
      if (name.startsWith(typed)) written += 1;
      if (name.startsWith(bench) || name.startsWith(typed) || name.startsWith(walk) || name.startsWith(drawn) || name === photographs) names.push(name);
    }
  } catch {
    // Nothing is kept here.
  }
  return { names, written, visits: visits.size, walks: walks.size, photographs: photographsWaiting()?.count ?? 0 };
};
if (leaving && ownUnsent(leaving.dataset.person).visits && !document.querySelector("#visit, [data-on-bench]")) {
  tellOfWaiting("What was typed last of a visit has not arrived yet.", "/bench", "Send it to the bench");
}
if (leaving && ownUnsent(leaving.dataset.person).walks && !document.querySelector("#walk, ul.rooms")) {
  tellOfWaiting("What was answered last of a walk-round has not arrived yet.", "/walk-round", "Send it");
}
const throwAway = (person, unsent) => new Promise((done) => {
  for (const name of unsent.names) localStorage.removeItem(name);
  if (!unsent.photographs) {
    done();
    return;
  }
  const asked = indexedDB.open("hingebook-photographs", 1);
  asked.onerror = done;
  asked.onupgradeneeded = () => asked.result.createObjectStore("photographs", { keyPath: "id" });
  asked.onsuccess = () => {
    const deed = asked.result.transaction("photographs", "readwrite");
    for (const end of ["complete", "error", "abort"]) deed.addEventListener(end, done);
    deed.objectStore("photographs").openCursor().onsuccess = ({ target }) => {
      if (target.result?.value.person === person) target.result.delete();
      target.result?.continue();
    };
  };
});
const forgetChoices = (person) => stored(() => sessionStorage.removeItem(`hingebook-remat:${person}`));
const askWhatBecomesOf = (unsent, name, leave) => {
  const made = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text }, more);
  const asks = made("dialog", "", { className: "asks" });
  const list = made("ul", "");
  const counted = (count, one, many) => (count === 1 ? one : `${count} ${many}`);
  if (unsent.visits) list.append(made("li", `what was typed last of ${counted(unsent.visits, "a visit", "visits")}`));
  if (unsent.written) list.append(made("li", `what was written up of ${counted(unsent.written, "a visit", "visits")}`));
  if (unsent.walks) list.append(made("li", counted(unsent.walks, "what was answered last of a walk-round", "walk-rounds with answers")));
  if (unsent.photographs) list.append(made("li", counted(unsent.photographs, "a photograph", "photographs")));
  const deeds = made("div", "", { className: "deeds" });
  const button = (text, className, deed) => {
    const pressed = made("button", text, { type: "button", className });
    pressed.addEventListener("click", deed);
    deeds.append(pressed);
  };
  button("Sign out and let it wait", "first", () => leave(false));
  button("Stay signed in", "", () => asks.close());
  button("Throw it away and sign out", "quiet-button", () => leave(true));
  const head = made("h2", "Not sent yet", { id: "not-sent-yet" });
  asks.setAttribute("aria-labelledby", head.id);
  asks.append(head, list, made("p", `It can wait on this device until ${name} signs in here again. Nobody else sees it.`), deeds);
  asks.addEventListener("close", () => asks.remove());
  document.body.append(asks);
  asks.showModal();
};
leaving?.addEventListener("submit", (event) => {
  // Without a connection nobody is signed out, and the page has said so.
  if (event.defaultPrevented) return;
  const { person, name } = leaving.dataset;
  const unsent = ownUnsent(person);
  if (!unsent.visits && !unsent.written && !unsent.walks && !unsent.photographs) {
    forgetChoices(person);
    return;
  }
  event.preventDefault();
  askWhatBecomesOf(unsent, name, async (isThrownAway) => {
    if (isThrownAway) {
      leaving.dataset.thrownAway = "";
      await throwAway(person, unsent);
    }
    forgetChoices(person);
    leaving.submit();
  });
});

// What is wider than the page scrolls by itself, and by the keys too.
const reachScrollers = () => {
  for (const part of document.querySelectorAll("main section, .scroll")) {
    const scrolls = part.scrollWidth > part.clientWidth + 1;
    if (scrolls && !part.querySelector("a, button, input, select, textarea, summary")) {
      part.tabIndex = 0;
    }
  }
};
reachScrollers();
window.addEventListener("resize", reachScrollers);
