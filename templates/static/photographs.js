// One photograph looked at closely, and photographs sent in parts over a network that breaks.
// A scope of its own: other scripts of a page have names of their own.
(() => {
"use strict";

// Looking closely. The picture is an SVG whose view box moves: near enough, the parts of the
// full size are laid over it, so that it stays sharp down to the grain.
const STEP = 1.5;
const NEAREST_CSS_PX = 4; // of the screen for one of the picture
const LARGEST_WHOLE_PX = 2400;

function lookClosely(box) {
  const picture = box.querySelector("svg");
  const parts = box.querySelector("[data-parts]");
  const said = box.querySelector("[data-said]");
  const width = Number(box.dataset.width);
  const height = Number(box.dataset.height);
  const part = Number(box.dataset.part);
  const levels = Number(box.dataset.levels);
  const laid = new Map();
  const view = { x: 0, y: 0, near: 1 };
  let drawn = 0;

  const farthestIn = () => Math.max(1, (NEAREST_CSS_PX * width) / picture.clientWidth);
  const held = (value, low, high) => Math.min(Math.max(value, low), Math.max(low, high));

  const draw = () => {
    drawn = 0;
    const wide = width / view.near;
    const high = height / view.near;
    view.x = held(view.x, 0, width - wide);
    view.y = held(view.y, 0, height - high);
    picture.setAttribute("viewBox", `${view.x} ${view.y} ${wide} ${high}`);
    picture.classList.toggle("near", view.near > 1);
    placeLabels(picture, { width, height }, wide / picture.clientWidth);
    said.textContent = view.near > 1 ? `${Math.round(view.near * 100)} % of the whole` : "";
    layParts(wide, high);
  };
  const drawSoon = () => {
    drawn = drawn || requestAnimationFrame(draw);
  };

  const layParts = (wide, high) => {
    const scale = (picture.clientWidth * devicePixelRatio) / wide;
    const ofWhole = LARGEST_WHOLE_PX / Math.max(width, height);
    const wanted = new Set();
    if (levels && scale > ofWhole) {
      const level = held(Math.floor(Math.log2(1 / scale)), 0, levels - 1);
      const step = 2 ** level;
      const side = part * step;
      const last = { column: Math.ceil(width / side) - 1, row: Math.ceil(height / side) - 1 };
      for (let row = Math.floor(view.y / side); row <= Math.min(last.row, (view.y + high) / side); row += 1) {
        for (let column = Math.floor(view.x / side); column <= Math.min(last.column, (view.x + wide) / side); column += 1) {
          const name = `${level}/${row}/${column}`;
          wanted.add(name);
          if (!laid.has(name)) laid.set(name, layPart(name, column * side, row * side, step, side));
        }
      }
    }
    for (const [name, image] of laid) {
      if (!wanted.has(name)) {
        image.remove();
        laid.delete(name);
      }
    }
  };
  const layPart = (name, x, y, step, side) => {
    const image = document.createElementNS("http://www.w3.org/2000/svg", "image");
    const size = (from, all) => Math.ceil(Math.min(side, all - from) / step) * step;
    const given = { x, y, width: size(x, width), height: size(y, height), preserveAspectRatio: "none" };
    for (const [key, value] of Object.entries(given)) image.setAttribute(key, value);
    image.setAttribute("href", `/photographs/${box.dataset.photograph}/parts/${name}`);
    parts.append(image);
    return image;
  };

  // `at` is what stays where it is, as shares of the picture's width and height on the screen.
  const near = (times, at = { x: 0.5, y: 0.5 }) => {
    const now = held(view.near * times, 1, farthestIn());
    view.x += at.x * (width / view.near - width / now);
    view.y += at.y * (height / view.near - height / now);
    view.near = now;
    drawSoon();
  };
  const move = (right, down) => {
    view.x += (right * width) / view.near;
    view.y += (down * height) / view.near;
    drawSoon();
  };
  const acts = {
    in: () => near(STEP),
    out: () => near(1 / STEP),
    whole: () => near(0),
    left: () => move(-0.25, 0),
    right: () => move(0.25, 0),
    up: () => move(0, -0.25),
    down: () => move(0, 0.25),
  };
  const keys = { "+": "in", "=": "in", "-": "out", 0: "whole", ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" };

  box.querySelector(".closely-acts").hidden = false;
  box.querySelector("[data-findings-shown]")?.addEventListener("change", drawSoon);
  box.addEventListener("click", (event) => acts[event.target.closest("[data-act]")?.dataset.act]?.());
  document.addEventListener("keydown", (event) => {
    const act = keys[event.key];
    const elsewhere = event.target.closest("input, textarea, select, summary, .head");
    const isArrow = event.key.startsWith("Arrow");
    // Arrows scroll the page until one has gone nearer.
    if (!act || elsewhere || event.ctrlKey || event.metaKey || event.altKey || (isArrow && view.near === 1)) return;
    event.preventDefault();
    acts[act]();
  });

  // One finger drags, two pinch; the buttons do both as well.
  const fingers = new Map();
  const place = (event) => {
    const box = picture.getBoundingClientRect();
    return { x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height };
  };
  const between = () => {
    const [one, other] = [...fingers.values()];
    return {
      x: (one.x + other.x) / 2,
      y: (one.y + other.y) / 2,
      apart: Math.hypot((one.x - other.x) * width, (one.y - other.y) * height),
    };
  };
  picture.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, place(event));
    if (view.near > 1 || fingers.size > 1) picture.setPointerCapture(event.pointerId);
    picture.classList.add("held");
  });
  picture.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const was = fingers.size === 2 ? between() : null;
    const now = place(event);
    fingers.set(event.pointerId, now);
    if (was) {
      const is = between();
      near(is.apart / Math.max(was.apart, 1), was);
      move(was.x - is.x, was.y - is.y);
    } else if (view.near > 1) {
      move(before.x - now.x, before.y - now.y);
    }
  });
  for (const end of ["pointerup", "pointercancel"]) {
    picture.addEventListener(end, (event) => {
      fingers.delete(event.pointerId);
      if (!fingers.size) picture.classList.remove("held");
    });
  }
  picture.addEventListener("dblclick", (event) => near(2, place(event)));
  picture.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    near(event.deltaY < 0 ? 1.2 : 1 / 1.2, place(event));
  }, { passive: false });
  addEventListener("resize", drawSoon);
  drawSoon();
}

for (const box of document.querySelectorAll("[data-closely]")) lookClosely(box);

// What has not arrived yet is kept by this browser, so that a reload or an empty battery
// loses nothing. A browser that keeps nothing sends all the same.
const KEPT = "hingebook-photographs";
const WAITING = "hingebook-photographs-waiting:";
const PART_BYTES = 512 * 1024;
const LONGEST_PAUSE_S = 60;
// A network that has gone without a word is noticed by waiting; a large photograph is read for long.
const LONGEST_ANSWER_MS = 180_000;

const book = (() => {
  let opened = null;
  const open = () => {
    opened ||= new Promise((done, failed) => {
      const asked = indexedDB.open(KEPT, 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("photographs", { keyPath: "id" });
      asked.onsuccess = () => {
        asked.result.onversionchange = () => asked.result.close();
        done(asked.result);
      };
      asked.onerror = () => failed(asked.error);
    });
    return opened;
  };
  const asked = async (mode, deed) => {
    try {
      const shelf = (await open()).transaction("photographs", mode).objectStore("photographs");
      return await new Promise((done, failed) => {
        const request = deed(shelf);
        request.onsuccess = () => done(request.result);
        request.onerror = () => failed(request.error);
      });
    } catch {
      return null;
    }
  };
  const all = async () => (await asked("readonly", (shelf) => shelf.getAll())) || [];
  // Read by every page, so that none is forgotten; see hingebook.js.
  const note = async (person) => {
    const theirs = (await all()).filter((one) => one.person === person);
    try {
      const refused = theirs.filter((one) => one.refused).length;
      if (theirs.length) localStorage.setItem(WAITING + person, JSON.stringify({ count: theirs.length, refused, work: theirs[0].work }));
      else localStorage.removeItem(WAITING + person);
    } catch {
      // Nothing is kept here; nothing is lost by it.
    }
  };
  return {
    all,
    put: async (one) => {
      if (document.querySelector("form.leave[data-thrown-away]")) return;
      await asked("readwrite", (shelf) => shelf.put(one));
      await note(one.person);
    },
    drop: async (one) => {
      await asked("readwrite", (shelf) => shelf.delete(one.id));
      await note(one.person);
    },
  };
})();

class Refused extends Error {
  constructor(status, told) {
    super(told?.errors?.map((fault) => `${fault.message} ${fault.right || ""}`.trim()).join(" ") || told?.detail || "The server could not take it.");
    this.status = status;
    this.told = told || {};
  }
}

async function ask(token, method, path, body) {
  const isBlob = body instanceof Blob;
  const headers = { "X-Form-Token": token };
  if (body) headers["Content-Type"] = isBlob ? "application/octet-stream" : "application/json";
  const answer = await fetch(path, { method, headers, body: isBlob || !body ? body : JSON.stringify(body), signal: AbortSignal.timeout?.(LONGEST_ANSWER_MS) });
  let told = null;
  try {
    told = await answer.json();
  } catch (error) {
    // An answer that broke off counts as none.
    if (answer.ok) throw error;
  }
  if (!answer.ok) throw new Refused(answer.status, told);
  return told;
}

// Sends one photograph; `progress` is told how many bytes are there. Broken off by the network
// or by a server that is away it can be called again, and goes on.
async function send(one, token, progress) {
  if (!one.blob.size) throw new Refused(422, { detail: "This file is empty. Choose the photograph again." });
  if (!one.key) {
    const begun = await ask(token, "POST", "/api/photograph-uploads", {
      work: one.work,
      file_name: one.name.slice(-300),
      byte_count: one.blob.size,
      view: one.view,
      stage: one.stage || null,
      draft_key: one.draft || null,
      visit: one.visit || null,
    });
    one.key = begun.key;
    await book.put(one);
  }
  const path = `/api/photograph-uploads/${one.key}`;
  let there = 0;
  try {
    const state = await ask(token, "GET", path);
    if (state.photograph) return state.photograph;
    there = state.received_bytes;
  } catch (error) {
    if (error.status !== 404) throw error;
    // Cleared away while it waited too long: from the beginning.
    one.key = null;
    return send(one, token, progress);
  }
  progress(there);
  while (there < one.blob.size) {
    const part = one.blob.slice(there, there + PART_BYTES);
    try {
      there = (await ask(token, "POST", `${path}/parts?offset=${there}`, part)).received_bytes;
    } catch (error) {
      if (error.status !== 409 || error.told.received_bytes === undefined) throw error;
      there = error.told.received_bytes;
    }
    progress(there);
  }
  return (await ask(token, "POST", `${path}/finish`)).id;
}

// What the network may still mend: no answer, a server that is busy or away.
const passes = (error) => !(error instanceof Refused) || error.status >= 500 || error.status === 429;
// What signing in anew mends.
const needsSignIn = (error) => error.status === 401 || (error.status === 403 && error.told.code === "wrong_form_token");

function take(box) {
  const list = box.querySelector("[data-takes]");
  const said = box.querySelector("[data-take-said]");
  const token = box.dataset.token;
  const queue = [];
  let busy = false;

  for (const one of box.querySelectorAll("[data-with-script]")) one.hidden = false;
  box.querySelector(".without-script")?.setAttribute("hidden", "");

  const element = (name, text = "", className = "") => {
    const made = document.createElement(name);
    made.textContent = text;
    if (className) made.className = className;
    return made;
  };
  const button = (text, deed) => {
    const made = element("button", text);
    made.type = "button";
    made.addEventListener("click", deed);
    return made;
  };

  const row = (one) => {
    const item = element("li");
    const image = element("img");
    const words = element("div");
    const progress = element("progress");
    const state = element("p", "", "quiet");
    const deeds = element("div", "", "deeds");
    const what = one.number === box.dataset.number ? one.says : `${one.number}, ${one.says}`;
    image.alt = "";
    image.src = URL.createObjectURL(one.blob);
    image.addEventListener("error", () => image.removeAttribute("src"));
    progress.max = one.blob.size;
    progress.value = 0;
    progress.setAttribute("aria-label", `${what}: how much has arrived`);
    words.append(element("p", what), progress, state);
    item.append(image, words, deeds);
    list.append(item);
    return { item, image, progress, state, deeds, what };
  };

  const percent = (bytes, one) => `${Math.floor((100 * bytes) / one.blob.size)} % has arrived`;

  const arrived = async (one, shown, photograph) => {
    await book.drop(one);
    URL.revokeObjectURL(shown.image.src);
    shown.image.src = `/photographs/${photograph}/320`;
    shown.progress.remove();
    shown.state.className = "sound";
    shown.state.textContent = "kept";
    const link = element("a", "Look at it", "button");
    link.href = `/photographs/${photograph}`;
    shown.deeds.replaceChildren(link);
    said.textContent = `${shown.what}: kept.`;
    document.querySelector("[data-none]")?.remove();
    box.dispatchEvent(new CustomEvent("photograph-kept", { bubbles: true, detail: { id: photograph, work: one.work } }));
  };

  const rest = (seconds, shown, words) => new Promise((done) => {
    let left = seconds;
    const tell = () => {
      shown.state.textContent = `${words} Again by itself in ${left} s.`;
    };
    const stop = () => {
      clearInterval(clock);
      removeEventListener("online", stop);
      shown.deeds.replaceChildren();
      done();
    };
    const clock = setInterval(() => {
      left -= 1;
      if (left > 0) tell();
      else stop();
    }, 1000);
    shown.deeds.replaceChildren(button("Again now", stop));
    addEventListener("online", stop);
    tell();
  });

  const stopped = (one, shown, words) => new Promise((done) => {
    shown.state.className = "fault";
    shown.state.textContent = words;
    said.textContent = `${shown.what}: ${words}`;
    shown.deeds.replaceChildren(
      button("Again", () => {
        shown.state.className = "quiet";
        shown.deeds.replaceChildren();
        done(true);
      }),
      button("Do without it", async () => {
        await book.drop(one);
        shown.item.remove();
        done(false);
      }),
    );
  });

  const sendAll = async () => {
    if (busy) return;
    busy = true;
    for (let next = queue.shift(); next; next = queue.shift()) await sendOne(next.one, next.shown);
    busy = false;
  };

  const sendOne = async (one, shown) => {
    let pause = 1;
    let before = 0;
    const progress = (bytes) => {
      if (bytes > before) pause = 1;
      before = bytes;
      shown.progress.value = bytes;
      shown.state.textContent = percent(bytes, one);
    };
    for (;;) {
      try {
        shown.state.textContent = percent(before, one);
        await arrived(one, shown, await send(one, token, progress));
        return;
      } catch (error) {
        if (needsSignIn(error)) {
          if (!(await stopped(one, shown, "Your sign-in is over. Sign in again; the photograph waits in this browser."))) return;
        } else if (passes(error)) {
          await rest(pause, shown, `The network or the server is away; ${percent(before, one)}.`);
          pause = Math.min(pause * 2, LONGEST_PAUSE_S);
        } else {
          // Sent again as it is it would be refused again; what waits behind it goes on.
          one.refused = error.message;
          await book.put(one);
          setAside(one, shown);
          return;
        }
      }
    }
  };

  const setAside = async (one, shown) => {
    if (await stopped(one, shown, one.refused)) enqueue(one, shown);
  };
  const enqueue = (one, shown) => {
    one.refused = null;
    shown.state.textContent = "waits its turn";
    queue.push({ one, shown });
    sendAll();
  };
  const begin = (one) => {
    const shown = row(one);
    if (one.refused) setAside(one, shown);
    else enqueue(one, shown);
  };

  const fromDevice = box.querySelector("[data-from-device]");
  fromDevice.addEventListener("change", () => {
    for (const input of box.querySelectorAll("input[type=file]")) {
      input.multiple = fromDevice.checked;
      if (fromDevice.checked) input.removeAttribute("capture");
      else input.setAttribute("capture", "environment");
    }
  });
  box.addEventListener("change", async (event) => {
    const input = event.target.closest("input[type=file]");
    if (!input) return;
    const chosen = [...input.files];
    const says = input.closest("label").textContent.trim();
    for (const blob of chosen) {
      const one = {
        id: `${Date.now()}-${Math.random()}`,
        blob,
        name: blob.name || "",
        says,
        work: Number(box.dataset.work),
        number: box.dataset.number,
        view: input.dataset.view,
        stage: input.dataset.stage,
        draft: box.dataset.draft,
        visit: Number(box.dataset.visit) || null,
        person: box.dataset.person,
        key: null,
      };
      await book.put(one);
      begin(one);
    }
    input.value = "";
  });

  // What an earlier page could not send to its end; only for whoever took it.
  book.all().then((all) => {
    for (const one of all) if (one.person === box.dataset.person) begin(one);
  });
}

for (const box of document.querySelectorAll("[data-take]")) take(box);
})();
