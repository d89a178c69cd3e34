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
  if (navigator.onLine === false) {
    event.preventDefault();
    say("Not sent: there is no connection. What you typed is still here; send it again later.");
  }
}, true);

// Photographs that have not arrived yet wait in this browser: every page says so to whoever
// took them, and whoever signs out leaves none to others.
const photographsWaiting = () => {
  try {
    const told = JSON.parse(localStorage.getItem("hingebook-photographs-waiting"));
    const reader = document.querySelector("form.leave p")?.textContent ?? "";
    return told?.count && reader.startsWith(`${told.person}, `) ? told : null;
  } catch {
    // Nothing is kept here.
    return null;
  }
};
const onTheirWay = photographsWaiting();
if (onTheirWay && !document.querySelector("[data-take]")) {
  const notice = document.createElement("p");
  const link = document.createElement("a");
  notice.className = "notice";
  notice.textContent = onTheirWay.count === 1 ? "A photograph has not arrived yet. " : `${onTheirWay.count} photographs have not arrived yet. `;
  link.href = `/works/${onTheirWay.work}/photographs`;
  link.textContent = "Go on sending";
  notice.append(link);
  document.querySelector("main").prepend(notice);
}
document.querySelector("form.leave")?.addEventListener("submit", (event) => {
  if (!photographsWaiting()) return;
  if (confirm("Photographs have not arrived yet and would be lost. Sign out all the same?")) {
    indexedDB.deleteDatabase("hingebook-photographs");
    localStorage.removeItem("hingebook-photographs-waiting");
  } else {
    event.preventDefault();
  }
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

// What a visit at the bench keeps on this tablet goes when one signs out, and never in silence.
document.querySelector("form.leave")?.addEventListener("submit", (event) => {
  const kept = Object.keys(localStorage).filter((name) => name.startsWith("hingebook-bench:"));
  const words = "Some of what was typed at the bench was not sent yet, and is lost by signing out. Sign out?";
  if (kept.length && !confirm(words)) event.preventDefault();
  else for (const name of kept) localStorage.removeItem(name);
});
