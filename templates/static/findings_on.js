// Findings on a photograph: a band along an edge, an outline or a point, set by taps or by keys.
// Points are kept as fractions of the picture until they are sent; where the corners of the
// sheet are known they go out in millimetres of the sheet, as seen from the recto.
(() => {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg";
  const CORNERS = ["upper left", "upper right", "lower right", "lower left"];
  // What is set by four corners, and what it is called.
  const FOURS = { corners: "of the sheet", window: "of the window" };
  const NOT_SEEN = "not seen this time";
  const CHANGES = ["unchanged", "grown", "treated", "no longer visible", NOT_SEEN];
  const ZOOMS = [1, 1.6, 2.5, 4];
  // In screen pixels: how near a tap or the crosshair must be to a point to mean it, where a drag
  // begins.
  const NEAR = 14, NEAR_BY_KEY = 1, DRAG = 5;
  const FIRST_MM = 10, STEP_MM = 1, LONG_STEP_MM = 10;

  // The map of the unit square upon four corners (Heckbert 1989), and its inverse but for scale.
  const squareTo = ([[x0, y0], [x1, y1], [x2, y2], [x3, y3]]) => {
    const dx1 = x1 - x2, dx2 = x3 - x2, sx = x0 - x1 + x2 - x3;
    const dy1 = y1 - y2, dy2 = y3 - y2, sy = y0 - y1 + y2 - y3;
    const area = dx1 * dy2 - dx2 * dy1;
    const g = (sx * dy2 - dx2 * sy) / area, h = (dx1 * sy - sx * dy1) / area;
    return [x1 - x0 + g * x1, x3 - x0 + h * x3, x0, y1 - y0 + g * y1, y3 - y0 + h * y3, y0, g, h, 1];
  };
  const inverse = ([a, b, c, d, e, f, g, h, i]) => {
    const m = [e * i - f * h, c * h - b * i, b * f - c * e, f * g - d * i, a * i - c * g,
      c * d - a * f, d * h - e * g, b * g - a * h, a * e - b * d];
    const sign = a * m[0] + b * m[3] + c * m[6] > 0 ? 1 : -1;
    return m.map((value) => sign * value);
  };
  const mapped = (m, [x, y]) => {
    const depth = m[6] * x + m[7] * y + m[8];
    return depth <= 0 ? null : [(m[0] * x + m[1] * y + m[2]) / depth, (m[3] * x + m[4] * y + m[5]) / depth];
  };
  const clamp = (value, low, high) => Math.min(Math.max(value, low), high);

  // How picture (fractions) and sheet (mm) belong together; null where nobody knows.
  const sheetMap = ({ sheet, corners, side }) => {
    if (!sheet || corners.length !== 4) return null;
    const [a, b, c, d] = corners;
    const there = squareTo(side === "verso" ? [b, a, d, c] : [a, b, c, d]);
    const back = inverse(there);
    return {
      seen: ([left, top]) => mapped(there, [left / sheet[0], top / sheet[1]]),
      mm(point) {
        const found = mapped(back, point);
        return found && [clamp(found[0] * sheet[0], 0, sheet[0]), clamp(found[1] * sheet[1], 0, sheet[1])];
      },
    };
  };

  const bandOutlines = (edge, mm, [w, h], from = null, to = null) => {
    const box = (l, t, r, b) => [[l, t], [r, t], [r, b], [l, b]];
    if (edge === "all") {
      const x = Math.min(mm, w / 2), y = Math.min(mm, h / 2);
      return [box(0, 0, w, y), box(w - x, y, w, h - y), box(0, h - y, w, h), box(0, y, x, h - y)];
    }
    const length = edge === "top" || edge === "bottom" ? w : h;
    const begin = from ?? 0, end = to ?? length;
    return [{
      top: () => box(begin, 0, end, mm), bottom: () => box(begin, h - mm, end, h),
      left: () => box(0, begin, mm, end), right: () => box(w - mm, begin, w, end),
    }[edge]()];
  };

  // The ends of the side of a window that is next to an edge, the upper or left first.
  const windowSide = (window, edge) => {
    const axis = edge === "left" || edge === "right" ? 0 : 1;
    const outwards = [...window].sort((a, b) => a[axis] - b[axis]);
    const pair = edge === "left" || edge === "top" ? outwards.slice(0, 2) : outwards.slice(2);
    return pair.sort((a, b) => a[1 - axis] - b[1 - axis]);
  };
  // How far in from an edge of the sheet the window's lies.
  const windowIn = (window, edge, sheet) => {
    const axis = edge === "left" || edge === "right" ? 0 : 1;
    const [one, two] = windowSide(window, edge);
    const middle = (one[axis] + two[axis]) / 2;
    return edge === "left" || edge === "top" ? middle : sheet[axis] - middle;
  };
  // A band along one edge whose inner border runs alongside the window's.
  const alongWindow = (edge, [[...a], [...b], [...c], [...d]], window) => {
    const axis = edge === "left" || edge === "right" ? 0 : 1;
    const [one, two] = windowSide(window, edge);
    const slope = (two[axis] - one[axis]) / (two[1 - axis] - one[1 - axis]);
    const inner = { left: [b, c], right: [a, d], top: [d, c], bottom: [a, b] }[edge];
    const half = (slope * (inner[1][1 - axis] - inner[0][1 - axis])) / 2;
    inner[0][axis] -= half;
    inner[1][axis] += half;
    return [a, b, c, d];
  };

  // From where to where along its edge a band was drawn; nothing where it goes all along.
  const partAlong = (edge, points, sheet) => {
    if (!sheet || !points.length || !edge || edge === "all") return { from: null, to: null };
    const axis = edge === "top" || edge === "bottom" ? 0 : 1;
    const along = points.map((point) => point[axis]);
    const from = Math.min(...along), to = Math.max(...along);
    return from < 0.5 && to > sheet[axis] - 0.5 ? { from: null, to: null } : { from, to };
  };

  const made = (name, attributes, inside) => {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    inside?.append(element);
    return element;
  };
  // A length typed in mm or in inches, as api/pages/form_answers.py reads it; NaN for none.
  const MM_PER_INCH = 25.4, SIXTEENTHS = 16;
  const inMm = (typed) => {
    const text = typed.trim().replace(",", ".");
    const inches = /^(?:(\d+(?:\.\d+)?)|(?:(\d+)[ -]+)?(\d+)\/(\d+))\s*(?:"|″|”|''|in\.?|inch|inches)$/i.exec(text);
    if (!inches) return Number(text.replace(/\s*mm$/, "") || NaN);
    const [, decimal, whole, part, of] = inches;
    return MM_PER_INCH * (decimal ? Number(decimal) : Number(whole ?? 0) + part / of);
  };
  // To the nearest sixteenth, as a ruler has them.
  const asInches = (mm) => {
    const sixteenths = Math.round((mm / MM_PER_INCH) * SIXTEENTHS);
    const whole = Math.floor(sixteenths / SIXTEENTHS);
    let part = sixteenths % SIXTEENTHS, of = SIXTEENTHS;
    for (; part && part % 2 === 0; part /= 2) of /= 2;
    return `${whole || !part ? whole : ""}${whole && part ? " " : ""}${part ? `${part}/${of}` : ""} in`;
  };
  const figure = (value) => String(Math.round(value * 10) / 10);

  // What is drawn and not kept yet stays in this browser, for its person, until it is kept or left.
  const DRAWN = `hingebook-drawn:${document.querySelector("form.leave")?.dataset.person}:`;
  const drawnName = (photograph) => `${DRAWN}${photograph ?? location.pathname}`;
  const drawn = {
    read: (photograph) => stored(() => JSON.parse(localStorage.getItem(drawnName(photograph)))),
    keep: (photograph, told) => stored(() => localStorage.setItem(drawnName(photograph), JSON.stringify(told))),
    forget: (photograph) => stored(() => localStorage.removeItem(drawnName(photograph))),
    // The photograph of a visit's work on which something waits; none where nothing does.
    waitsOn: (at) => stored(() => {
      const names = Object.keys(localStorage).filter((name) => name.startsWith(DRAWN));
      return names.find((name) => JSON.parse(localStorage.getItem(name)).at === at)?.slice(DRAWN.length);
    }) ?? "",
  };

  // One picture with its desk. `host` says what can be drawn, and takes what was drawn.
  class Desk {
    constructor(root, host) {
      this.root = root;
      this.host = host;
      this.told = JSON.parse(root.dataset.findingsOn);
      this.map = sheetMap(this.told);
      this.part = (name) => root.querySelector(`[data-${name}]`);
      this.picture = this.part("picture");
      this.layer = this.part("desk-layer");
      this.desk = this.part("desk");
      this.zoomed = 0;
      this.begin(null);
      this.listenToPicture();
      const zoom = this.part("zoom");
      zoom.hidden = false;
      zoom.addEventListener("click", (e) => this.zoom(Number(e.target.closest("button")?.dataset.zoomBy ?? 0)));
      new ResizeObserver(() => { this.placeLabels(); this.draw(); }).observe(this.picture);
      for (const layer of root.querySelectorAll("[data-layer]")) layer.addEventListener("change", () => this.placeLabels());
      if (!this.desk) return;
      this.desk.hidden = false;
      this.desk.addEventListener("click", (e) => this.pressed(e.target.closest("button")));
      this.target = this.part("target");
      this.fillTargets();
      this.target.addEventListener("change", () => { this.begin(null); this.chose(); });
      this.part("follows").addEventListener("change", (e) => {
        if (!this.band) return;
        this.band.follows = e.target.checked;
        this.takeWindow(this.band.edge);
        this.bandChanged();
      });
      this.part("part").addEventListener("input", () => this.bandChanged());
      this.chose();
      this.resume();
    }

    // What was drawn before this page was left, and neither kept nor given up.
    resume() {
      const before = drawn.read(this.told.photograph);
      if (!before || !this.desk.querySelector(`[data-tool="${before.tool}"]`)) return;
      this.target.value = before.target;
      if (!FOURS[before.tool] && this.target.value !== before.target) return this.fillTargets();
      this.chose();
      this.begin(before.tool);
      Object.assign(this, { points: before.points, isClosed: before.isClosed, isTouched: true });
      if (this.band) {
        Object.assign(this.band, before.band);
        this.part("follows").checked = this.band.follows;
        for (const end of ["from", "to"]) this.part(end).value = this.band[end] === null ? "" : figure(this.band[end]);
        this.readPart();
      }
      this.say(`This was drawn before and is not kept yet. ${this.asks()}`);
      this.draw();
    }

    remember() {
      const { tool, points, isClosed, band } = this;
      if (tool && this.isTouched) drawn.keep(this.told.photograph, { tool, target: this.target.value, points, isClosed, band, at: this.host.at });
    }

    forget() {
      drawn.forget(this.told.photograph);
      this.isTouched = false;
    }

    fillTargets() {
      const kept = this.target.value;
      const targets = this.host.targets(this);
      this.target.replaceChildren(...targets.map((one) => new Option(one.said, one.value)));
      if (targets.some((one) => one.value === kept)) this.target.value = kept;
      const tools = this.desk.querySelectorAll("[data-tool='outline'], [data-tool='point'], [data-tool='contrast']");
      for (const tool of tools) tool.disabled = targets.length === 0;
      this.desk.querySelector("[data-tool='band']").hidden = !this.host.takesBands;
      const colour = this.desk.querySelector("[data-tool='contrast']");
      if (colour) colour.hidden = !this.host.keepContrast || targets.length === 0;
      this.target.closest(".field").hidden = targets.length === 0;
      this.part("tools").hidden = targets.length === 0;
    }

    chosen() {
      return this.host.targets(this).find((one) => one.value === this.target.value) ?? null;
    }

    // A target was chosen: it is marked in the picture and in the table, and says what it may be now.
    chose() {
      const target = this.chosen();
      for (const one of this.root.querySelectorAll("[data-finding], [data-row]")) {
        const id = one.dataset.finding ?? one.dataset.row;
        one.classList.toggle("is-chosen", Boolean(this.tapped) && target?.finding === Number(id));
      }
      const changes = this.part("changes");
      const words = target ? this.host.changes(target) : [];
      changes.hidden = words.length === 0;
      changes.replaceChildren(...words.map(([word, isSo]) => {
        const button = document.createElement("button");
        button.type = "button";
        button.dataset.change = word;
        button.textContent = word;
        button.setAttribute("aria-pressed", String(isSo));
        return button;
      }));
      this.draw();
    }

    begin(tool) {
      // Kept, left, or given up for another.
      if (this.isTouched) this.forget();
      this.tool = tool;
      this.points = [];
      this.isClosed = false;
      this.taken = null;
      this.cross = null;
      this.band = null;
      this.picture.classList.toggle("is-drawing", tool !== null);
      if (!this.desk) return;
      const target = tool && !FOURS[tool] ? this.chosen() : null;
      if (FOURS[tool]) this.points = this.told[tool].map((corner) => [...corner]);
      if (target && tool === target.shape && this.map) {
        this.points = target.points.map((point) => this.map.seen(point)).filter(Boolean);
        this.isClosed = tool === "outline";
      }
      if (tool === "band") {
        this.band = { edge: target?.edge ?? null, mm: target?.mm ?? FIRST_MM, follows: target?.follows ?? false };
        this.part("follows").checked = this.band.follows;
        const part = target?.part ?? partAlong(target?.edge, target?.points ?? [], this.told.sheet);
        this.part("from").value = part.from === null ? "" : figure(part.from);
        this.part("to").value = part.to === null ? "" : figure(part.to);
        this.readPart();
      }
      this.part("band").hidden = tool !== "band";
      this.part("keys").hidden = !tool;
      for (const one of this.desk.querySelectorAll("[data-tool]")) {
        one.setAttribute("aria-pressed", String(one.dataset.tool === tool));
      }
      if (tool) this.picture.setAttribute("tabindex", "0");
      else this.picture.removeAttribute("tabindex");
      this.picture.setAttribute("role", tool ? "application" : "img");
      this.say(this.asks());
      this.draw();
    }

    asks() {
      if (FOURS[this.tool]) {
        const next = CORNERS[this.points.length];
        return next ? `Tap the ${next} corner ${FOURS[this.tool]}${this.tool === "window" ? ": of the opening in the mat, or of the line it has left" : ""}.` : "All four corners are set. Tap one and then its place to move it, or keep them.";
      }
      if (this.tool === "contrast") return ["Tap the stain.", "Tap clean paper nearby, in the same light.", "Both are set. Tap one and then its place to move it, or keep them."][this.points.length];
      if (this.tool === "point") return this.points.length ? "Tap elsewhere to move it, or keep it." : "Tap where the finding is.";
      if (this.tool === "outline") {
        if (this.isClosed) return "The outline is closed. Tap a point and then its place to move it, or keep it.";
        return this.points.length < 3 ? "Tap round the finding, point by point." : "Go on, or tap the first point to close the outline.";
      }
      if (this.tool !== "band") return "";
      if (!this.band.edge) return this.map ? "Choose the edge, or tap on the picture how far the band goes in." : "Choose the edge.";
      return this.map ? "Tap on the picture how far it goes in, or step by millimetres." : "Step to how far it goes in. It is drawn as soon as the corners of the sheet are known.";
    }

    say(text) {
      this.part("say").textContent = text;
    }

    where(point) {
      const mm = this.map?.mm(point);
      if (mm) return `${figure(mm[0])} mm${this.alsoInches(mm[0])} from the left, ${figure(mm[1])} mm${this.alsoInches(mm[1])} from the top`;
      return `${figure(100 * point[0])} % from the left of the picture, ${figure(100 * point[1])} % from its top`;
    }

    // After a length in mm, for whoever chose so.
    alsoInches(mm) {
      return "inches" in this.root.dataset && mm >= 1 ? ` (${asInches(mm)})` : "";
    }

    // Taps, and points that are dragged.
    listenToPicture() {
      let began = null;
      this.picture.addEventListener("pointerdown", (e) => {
        if (e.button !== 0) return;
        began = { x: e.clientX, y: e.clientY, index: e.target.closest(".handle")?.dataset.index ?? null, isDrag: false };
        if (began.index !== null) this.picture.setPointerCapture(e.pointerId);
      });
      this.picture.addEventListener("pointermove", (e) => {
        if (!began) return;
        if (Math.hypot(e.clientX - began.x, e.clientY - began.y) > DRAG) began.isDrag = true;
        if (began.isDrag && began.index !== null) {
          this.points[began.index] = this.at(e);
          this.taken = null;
          this.isTouched = true;
          this.draw();
        }
      });
      this.picture.addEventListener("pointercancel", () => { began = null; });
      this.picture.addEventListener("pointerup", (e) => {
        const was = began;
        began = null;
        if (!was) return;
        if (!was.isDrag) this.tap(this.at(e), e.target);
        else if (was.index !== null) this.say(`${this.named(Number(was.index))} moved to ${this.where(this.points[was.index])}.`);
      });
      this.picture.addEventListener("keydown", (e) => this.key(e));
      this.picture.addEventListener("focus", () => {
        if (!this.tool || this.cross || !this.picture.matches(":focus-visible")) return;
        this.cross = [0.5, 0.5];
        this.draw();
      });
    }

    at(event) {
      const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.picture.getScreenCTM().inverse());
      return [clamp(place.x / this.told.width, 0, 1), clamp(place.y / this.told.height, 0, 1)];
    }

    tap(point, on) {
      this.cross = null;
      if (this.tool) return this.set(point);
      const shape = on.closest("[data-finding]");
      if (!shape) return;
      this.tapped = true;
      if (!this.desk) {
        for (const row of this.root.querySelectorAll("[data-row]")) row.classList.toggle("is-chosen", row.dataset.row === shape.dataset.finding);
        return;
      }
      const target = this.host.targets(this).find((one) => one.finding === Number(shape.dataset.finding));
      if (target) this.target.value = target.value;
      this.chose();
      this.say(shape.querySelector("title").textContent);
    }

    // One point, whichever way it came.
    set(point, nearness = NEAR) {
      this.isTouched = true;
      if (this.tool === "band") return this.reachTo(point);
      const near = this.nearest(point, nearness);
      const most = { point: 1, contrast: 2, corners: 4, window: 4, outline: this.isClosed ? this.points.length : 400 }[this.tool];
      if (this.taken !== null) {
        this.points[this.taken] = point;
        const named = this.named(this.taken);
        this.taken = null;
        this.say(`${named} moved to ${this.where(point)}. ${this.asks()}`);
      } else if (this.tool === "outline" && near === 0 && this.points.length >= 3 && !this.isClosed) {
        this.close();
      } else if (near !== null && this.tool !== "point") {
        this.taken = near;
        this.say(`${this.named(near)} is taken: tap where it goes.`);
      } else if (this.tool === "point") {
        this.points = [point];
        this.say(`Set at ${this.where(point)}. ${this.asks()}`);
      } else if (this.points.length < most) {
        this.points.push(point);
        this.say(`${this.named(this.points.length - 1)} set at ${this.where(point)}. ${this.asks()}`);
      }
      this.draw();
    }

    close() {
      this.isClosed = true;
      this.say(this.asks());
      this.draw();
    }

    named(index) {
      if (this.tool === "contrast") return index ? "Clean paper" : "The stain";
      return FOURS[this.tool] ? `The ${CORNERS[index]} corner` : this.tool === "point" ? "The point" : `Point ${index + 1}`;
    }

    nearest(point, nearness) {
      const unit = this.unit();
      const away = this.points.map(([x, y]) => Math.hypot((x - point[0]) * this.told.width, (y - point[1]) * this.told.height) / unit);
      const least = Math.min(...away);
      return least <= nearness ? away.indexOf(least) : null;
    }

    // A tap while a band is drawn: the edge that is nearest, unless one was chosen, and how far in.
    reachTo(point) {
      const mm = this.map?.mm(point);
      if (!mm) return;
      const [w, h] = this.told.sheet;
      const ways = { top: mm[1], right: w - mm[0], bottom: h - mm[1], left: mm[0] };
      const least = Object.keys(ways).reduce((a, b) => (ways[b] < ways[a] ? b : a));
      if (!this.band.edge) this.band.edge = least;
      this.band.mm = Math.max(1, Math.round(this.band.edge === "all" ? ways[least] : ways[this.band.edge]));
      this.bandChanged();
    }

    // Both numbers or none; what is left empty is the end of the edge.
    readPart() {
      const { sheet } = this.told, { edge } = this.band;
      const isPart = Boolean(sheet && edge && edge !== "all");
      this.part("part").hidden = !isPart;
      const [from, to] = ["from", "to"].map((name) => this.part(name).value.trim());
      Object.assign(this.band, { from: null, to: null, fault: "" });
      if (!isPart || !(from || to)) return;
      const length = edge === "top" || edge === "bottom" ? sheet[0] : sheet[1];
      const begin = from ? inMm(from) : 0, end = to ? inMm(to) : length;
      if (begin >= 0 && begin < end && end <= length) Object.assign(this.band, { from: begin, to: end });
      else this.band.fault = `From 0 to ${figure(length)} mm${this.alsoInches(length)}, the lower first; or leave both empty for all of the edge.`;
    }

    bandChanged() {
      if (!this.band) return;
      this.isTouched = true;
      this.readPart();
      if (this.band.fault) {
        this.say(this.band.fault);
        this.draw();
        return;
      }
      this.band.follows = this.part("follows").checked;
      const [w, h] = this.told.sheet ?? [20000, 20000];
      const across = this.band.edge === "top" || this.band.edge === "bottom" ? h : w;
      this.band.mm = clamp(this.band.mm, 1, across);
      const edge = this.band.edge === "all" ? "all edges" : `the ${this.band.edge} edge`;
      const part = this.band.from === null ? "" : `, from ${figure(this.band.from)} to ${figure(this.band.to)} mm along it${"inches" in this.root.dataset ? ` (${asInches(this.band.from)} to ${asInches(this.band.to)})` : ""}`;
      this.say(this.band.edge ? `${figure(this.band.mm)} mm in${this.alsoInches(this.band.mm)} from ${edge}${part}. ${this.asks()}` : this.asks());
      this.draw();
    }

    key(e) {
      if (!this.tool) return;
      const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
      if (steps[e.key]) {
        this.cross = this.stepped(this.cross ?? [0.5, 0.5], steps[e.key], e.shiftKey ? LONG_STEP_MM : STEP_MM);
        this.say(this.where(this.cross));
        this.draw();
        this.follow();
      } else if (e.key === "Enter") {
        this.cross ??= [0.5, 0.5];
        this.set([...this.cross], NEAR_BY_KEY);
      } else if (e.key === "Backspace") this.undo();
      else if (e.key === "Escape") this.begin(null);
      else return;
      e.preventDefault();
    }

    // A millimetre of the sheet the way one looks; without known corners a 400th of the picture.
    stepped(point, [dx, dy], mm) {
      let next = [point[0] + (dx * mm) / 400, point[1] + (dy * mm) / 400];
      const here = this.map?.mm(point);
      if (here) {
        const across = this.told.side === "verso" ? -dx : dx;
        next = this.map.seen([here[0] + across * mm, here[1] + dy * mm]) ?? next;
      }
      return next.map((value) => clamp(value, 0, 1));
    }

    follow() {
      const cross = this.layer.querySelector(".cross");
      const stage = this.part("stage"), box = stage.getBoundingClientRect(), at = cross.getBoundingClientRect();
      if (at.left < box.left + 40 || at.right > box.right - 40) stage.scrollLeft += at.left - box.left - box.width / 2;
      if (at.top < box.top + 40 || at.bottom > box.bottom - 40) stage.scrollTop += at.top - box.top - box.height / 2;
    }

    undo() {
      this.isTouched = true;
      if (this.taken !== null) this.taken = null;
      else if (this.isClosed) this.isClosed = false;
      else this.points.pop();
      this.say(this.asks());
      this.draw();
    }

    pressed(button) {
      if (!button) return;
      const { tool, edge, stepBy, do: deed, change } = button.dataset;
      if (edge) this.takeWindow(edge);
      if (tool) this.begin(this.tool === tool ? null : tool);
      else if (edge) { this.band.edge = edge; this.bandChanged(); }
      else if (stepBy) { this.band.mm = Math.round(this.band.mm) + Number(stepBy); this.bandChanged(); }
      else if (change) { this.host.change(this.chosen(), change); this.chose(); }
      else if (deed === "offer") this.takeOffer();
      else if (deed === "undo") this.undo();
      else if (deed === "close") this.close();
      else if (deed === "cancel") this.begin(null);
      else if (deed === "keep") this.keep();
    }

    // A band that follows a window of known place goes in as far as that, until somebody steps on.
    takeWindow(edge) {
      const { window_mm: window, sheet } = this.told;
      if (!this.band?.follows || !edge || edge === "all" || !window.length || !sheet) return;
      const mm = Math.round(windowIn(window, edge, sheet));
      if (mm >= 1) this.band.mm = mm;
    }

    // The window as it lies on the sheet by another photograph, or as large as the mat's: to be
    // looked at, moved and kept.
    takeOffer() {
      const seen = this.told.window_offered.map((place) => this.map.seen(place));
      if (!seen.every(Boolean)) return;
      this.isTouched = true;
      // As they are seen: on a verso left and right change places.
      this.points = (this.told.side === "verso" ? [1, 0, 3, 2] : [0, 1, 2, 3]).map((index) => seen[index]);
      this.say(this.asks());
      this.draw();
    }

    canKeep() {
      const enough = { point: this.points.length === 1, contrast: this.points.length === 2, corners: this.points.length === 4, window: this.points.length === 4, outline: this.isClosed, band: Boolean(this.band?.edge && !this.band.fault) };
      return Boolean(this.tool && enough[this.tool]);
    }

    keep() {
      if (!this.canKeep()) return;
      if (FOURS[this.tool]) return this.host.keepFour(this, this.points, this.tool);
      const target = this.chosen();
      if (this.tool === "band") return this.host.keepBand(this, target, this.band);
      if (this.tool === "contrast") return this.host.keepContrast(this, target, this.points);
      const places = this.points.map((point) => this.map?.mm(point));
      const isOnSheet = places.every(Boolean);
      const exact = (value) => Math.round(value * 1e6) / 1e6;
      this.host.keepOutline(this, target, {
        photograph: this.told.photograph,
        shape: this.tool,
        on_photograph: !isOnSheet,
        points: isOnSheet ? places.map((p) => p.map((mm) => Math.round(mm * 1000) / 1000)) : this.points.map((p) => p.map(exact)),
      });
    }

    zoom(by) {
      if (!by) return;
      const stage = this.part("stage");
      const middle = [(stage.scrollLeft + stage.clientWidth / 2) / stage.scrollWidth, (stage.scrollTop + stage.clientHeight / 2) / stage.scrollHeight];
      this.zoomed = clamp(this.zoomed + by, 0, ZOOMS.length - 1);
      this.picture.style.width = `${100 * ZOOMS[this.zoomed]}%`;
      stage.scrollLeft = middle[0] * stage.scrollWidth - stage.clientWidth / 2;
      stage.scrollTop = middle[1] * stage.scrollHeight - stage.clientHeight / 2;
      const image = this.picture.querySelector("image");
      if (image && this.zoomed) image.setAttribute("href", image.dataset.sharp);
    }

    // How many units of the drawing are one pixel of the screen.
    unit() {
      const width = this.picture.getBoundingClientRect().width;
      return width ? this.told.width / width : 1;
    }

    placeLabels() {
      placeLabels(this.picture, this.told, this.unit());
    }

    xy(point) {
      return [point[0] * this.told.width, point[1] * this.told.height];
    }

    polygon(points, name, isOpen = false) {
      const written = points.map((point) => this.xy(point).join(",")).join(" ");
      for (const kind of ["halo", name]) {
        made(isOpen ? "polyline" : "polygon", { class: kind, points: written, "vector-effect": "non-scaling-stroke" }, this.layer);
      }
    }

    outlinesOf({ edge, mm, from, to, follows }) {
      const { sheet, window_mm: window } = this.told;
      const outlines = bandOutlines(edge, mm, sheet, from, to);
      return follows && window.length && edge !== "all" ? outlines.map((one) => alongWindow(edge, one, window)) : outlines;
    }

    onSheet(outlines, name) {
      for (const outline of outlines) {
        const seen = outline.map((place) => this.map.seen(place));
        if (seen.every(Boolean)) this.polygon(seen, name);
      }
    }

    dot(point, name, radius) {
      const [cx, cy] = this.xy(point);
      return made("circle", { class: name, cx, cy, r: radius * this.unit(), "vector-effect": "non-scaling-stroke" }, this.layer);
    }

    draw() {
      this.layer.replaceChildren();
      if (!this.desk) return;
      for (const kept of this.host.kept(this)) this.drawKept(kept);
      const isRing = this.isClosed || (FOURS[this.tool] && this.points.length === 4);
      if (this.points.length > 1 && this.tool !== "contrast") this.polygon(this.points, isRing ? "drawn-line" : "drawn-line open", !isRing);
      if (this.tool === "band" && this.band.edge && this.map) {
        this.onSheet(this.outlinesOf(this.band), "drawn-line");
      }
      this.points.forEach((point, index) => {
        this.dot(point, index === this.taken ? "dot is-taken" : "dot", index === 0 && !isRing ? 8 : 6);
        this.dot(point, "handle", 22).dataset.index = index;
      });
      if (this.cross) this.drawCross();
      this.refresh();
    }

    drawKept({ outline, band }) {
      if (band && this.map) return this.onSheet(this.outlinesOf(band), "kept-line");
      if (!outline || (outline.on_photograph && outline.photograph !== this.told.photograph)) return;
      if (!outline.on_photograph && !this.map) return;
      const seen = outline.points.map((point) => (outline.on_photograph ? point : this.map.seen(point)));
      if (!seen.every(Boolean)) return;
      if (outline.shape === "point") this.dot(seen[0], "kept-line", 9);
      else this.polygon(seen, "kept-line");
    }

    drawCross() {
      const [x, y] = this.xy(this.cross), long = 22 * this.unit(), gap = 5 * this.unit();
      const d = `M${x - long} ${y}H${x - gap}M${x + gap} ${y}H${x + long}M${x} ${y - long}V${y - gap}M${x} ${y + gap}V${y + long}`;
      for (const name of ["cross-halo", "cross"]) made("path", { class: name, d, "vector-effect": "non-scaling-stroke" }, this.layer);
    }

    // Which buttons there are now.
    refresh() {
      this.remember();
      const button = (deed) => this.desk.querySelector(`[data-do="${deed}"]`);
      button("undo").hidden = !(this.points.length && this.tool !== "point");
      button("close").hidden = !(this.tool === "outline" && this.points.length >= 3 && !this.isClosed);
      if (button("offer")) button("offer").hidden = this.tool !== "window" || this.points.length === 4;
      button("keep").hidden = !this.canKeep();
      button("keep").textContent = { band: "Keep this band", outline: "Keep this outline", point: "Keep this point", corners: "Keep the corners", window: "Keep the window", contrast: "Read their colours" }[this.tool] ?? "Keep";
      button("cancel").hidden = !this.tool;
      if (!this.band) return;
      this.part("mm").textContent = `${figure(this.band.mm)} mm in${this.alsoInches(this.band.mm)}`;
      for (const one of this.desk.querySelectorAll("[data-edge]")) one.setAttribute("aria-pressed", String(one.dataset.edge === this.band.edge));
    }
  }

  const foundTarget = (finding, value) => ({
    value, finding: finding.id, said: `${finding.no} ${finding.term}`,
    edge: finding.edge, mm: finding.mm, follows: finding.follows, shape: finding.shape, points: finding.points,
  });
  const fillCorners = (form, points) => {
    CORNERS.forEach((name, index) => {
      const at = name.replace(" ", "_");
      form.elements[`${at}_x`].value = figure4(100 * points[index][0]);
      form.elements[`${at}_y`].value = figure4(100 * points[index][1]);
    });
  };
  const figure4 = (value) => String(Math.round(value * 1e4) / 1e4);

  // On the page of the findings: what is drawn belongs to the last sighting, and is sent at once.
  const page = {
    takesBands: false,
    targets: (desk) => desk.told.findings.map((finding) => foundTarget(finding, String(finding.id))),
    changes: () => [],
    kept: () => [],
    keepFour(desk, points, what) {
      const form = desk.part(`${what}-form`);
      fillCorners(form, points);
      desk.forget();
      form.requestSubmit(form.querySelector("button"));
    },
    // The server reads the colours from the picture itself; only the places are sent.
    keepContrast(desk, target, points) {
      const finding = desk.told.findings.find((one) => one.id === target.finding);
      const form = desk.part("contrast-form");
      form.action = `/sightings/${finding.sighting}/contrast`;
      form.elements.version.value = finding.contrast_version;
      ["stain", "clean"].forEach((spot, index) => {
        form.elements[`${spot}_x`].value = points[index][0];
        form.elements[`${spot}_y`].value = points[index][1];
      });
      desk.forget();
      form.requestSubmit();
    },
    keepOutline(desk, target, outline) {
      const finding = desk.told.findings.find((one) => one.id === target.finding);
      const form = desk.part("outline-form");
      form.action = `/sightings/${finding.sighting}/outline`;
      form.elements.outline.value = JSON.stringify(outline);
      form.elements.version.value = finding.version;
      desk.forget();
      form.requestSubmit();
    },
  };

  // Within the form of a visit: what is drawn is written into its fields, which are kept by the form.
  class Visit {
    constructor(place) {
      this.place = place;
      this.form = place.closest("form");
      this.takesBands = true;
      this.at = place.dataset.findingsSrc;
      // Whoever goes on to another step means what is drawn; colours are read by a press alone.
      this.form.addEventListener("submit", () => this.desk?.tool !== "contrast" && this.desk?.keep(), { capture: true });
      this.form.addEventListener("input", () => this.desk?.draw());
      this.form.addEventListener("change", (e) => {
        // How far it reaches now is asked where somebody says that it has grown.
        if (e.target.matches("[name^='finding/'][name$='/change'][value='grown']")) {
          e.target.closest(".one").querySelector("details:has([name$='/mm'])").open = true;
        }
        this.desk?.draw();
      });
      for (const row of this.form.querySelectorAll("[data-contrast-of]")) {
        const at = row.dataset.contrastOf;
        this.showContrast(at);
        row.querySelector("[data-read]").addEventListener("click", () => this.readContrast(at));
        row.querySelector("[data-take-back]").addEventListener("click", () => {
          this.put(`${at}/contrast`, "");
          this.showContrast(at);
          row.querySelector("[data-read]").focus();
        });
      }
    }

    // What was read of a finding from a photograph, and the way to read it.
    showContrast(at, said) {
      const kept = this.field(`${at}/contrast`).value;
      const row = this.form.querySelector(`[data-contrast-of="${at}"]`);
      row.querySelector("output").textContent = said ?? (kept ? JSON.parse(kept).said : "");
      row.querySelector("[data-take-back]").hidden = !kept;
      return row;
    }

    // On a photograph of this visit, unless somebody has chosen another.
    async readContrast(at) {
      const isThere = this.isChosen || await this.load(`${this.place.dataset.findingsSrc}?draft=${this.form.dataset.key}`);
      if (isThere === null) return;
      const { desk } = this;
      if (!isThere) return this.showContrast(at, "The photographs cannot be reached now; readings of an instrument can be typed.");
      if (!desk?.told.photograph) return this.showContrast(at, "There is no photograph yet: take one, at the step before.");
      desk.target.value = at;
      if (desk.target.value !== at) {
        desk.fillTargets();
        return this.showContrast(at, `This photograph shows the ${desk.told.side}: choose one above that shows the finding.`);
      }
      desk.chose();
      desk.begin("contrast");
      desk.picture.scrollIntoView({ block: "center" });
      desk.picture.focus({ preventScroll: true });
    }

    // The server reads the colours; what it read is kept by the form.
    async keepContrast(desk, target, [stain, clean]) {
      const places = new URLSearchParams({ stain_x: stain[0], stain_y: stain[1], clean_x: clean[0], clean_y: clean[1] });
      const answer = await fetch(`/photographs/${desk.told.photograph}/contrast?${places}`, { headers: { Accept: "application/json" } }).catch(() => null);
      if (!answer) return desk.say("The colours were not read: the network is away. Both places stay; read them again later.");
      if (!answer.ok || answer.redirected) return desk.say("The colours cannot be read from this photograph; try another.");
      const read = await answer.json();
      if (!target.finding) this.put(`${target.value}/side`, desk.told.side);
      this.put(`${target.value}/contrast`, read.kept);
      const now = this.form.querySelector(`input[name="${target.value}/change"]:checked`)?.value;
      if (target.finding && (!now || now === NOT_SEEN)) this.change(target, "unchanged");
      desk.begin(null);
      desk.chose();
      desk.say(`${target.said}: ${read.said}.`);
      const one = document.getElementById(target.value);
      if (one?.tagName === "DETAILS") one.open = true;
      const row = this.showContrast(target.value);
      row.scrollIntoView({ block: "center" });
      row.querySelector("[data-read]").focus({ preventScroll: true });
    }

    // Resolves to whether it is shown; to null where something else was asked for meanwhile.
    async load(address) {
      // What is drawn whole is kept before another photograph takes its place.
      if (this.desk?.tool !== "contrast") this.desk?.keep();
      const mine = (this.asked = {});
      this.isLoading = true;
      // What is meant for the photograph that comes is not drawn on the one that goes.
      const going = this.desk?.root;
      going?.setAttribute("inert", "");
      try {
        const answer = await fetch(address, { credentials: "same-origin" });
        if (!answer.ok || new URL(answer.url).pathname !== new URL(address, location.href).pathname) throw new Error(answer.status);
        const text = await answer.text();
        if (mine !== this.asked) return null;
        this.show(new DOMParser().parseFromString(text, "text/html"), address);
        return true;
      } catch {
        if (mine !== this.asked) return null;
        this.place.querySelector("[data-unreached]")?.removeAttribute("hidden");
        return false;
      } finally {
        if (mine === this.asked) {
          this.isLoading = false;
          going?.removeAttribute("inert");
        }
        this.place.removeAttribute("data-waits");
      }
    }

    show(page, address) {
      const root = page.querySelector("[data-findings-on]");
      if (!root) return;
      this.address = address;
      this.versions = {};
      for (const what of Object.keys(FOURS)) {
        this.versions[what] = root.querySelector(`[data-${what}-form]`)?.elements.version.value ?? "0";
      }
      for (const part of root.querySelectorAll("form, .on-corners, .on-table, h2")) part.remove();
      const choices = page.querySelector(".on-choices");
      const wanted = this.desk?.target?.value;
      this.place.replaceChildren(document.importNode(root, true));
      if (choices) {
        this.place.append(document.importNode(choices, true));
        for (const link of this.place.querySelectorAll(".on-choices a")) {
          link.addEventListener("click", (e) => { e.preventDefault(); this.isChosen = true; this.load(link.getAttribute("href")); });
        }
      }
      this.desk = new Desk(this.place.querySelector("[data-findings-on]"), this);
      if (wanted && !this.desk.tool && [...this.desk.target.options].some((one) => one.value === wanted)) this.desk.target.value = wanted;
      this.desk.chose();
    }

    field(name) {
      return this.form.elements.namedItem(name);
    }

    targets(desk) {
      const known = desk.told.findings.filter((one) => this.field(`finding/${one.id}/change`)).map((one) => foundTarget(one, `finding/${one.id}`));
      // What is told of the other side is not drawn anew on this one; of the free rows one is enough.
      const has = (at, ...names) => names.some((name) => this.field(`${at}/${name}`)?.value);
      let free = 0;
      const rows = [...this.form.querySelectorAll("[id^='new/']")].filter(({ id }) => {
        if (!/^new\/\d+$/.test(id)) return false;
        if (!has(id, "term", "mm", "outline")) return !free++;
        return this.sideOf(id) === desk.told.side || !has(id, "mm", "outline");
      });
      const fresh = rows.map((one, index) => ({
        value: one.id, finding: null, shape: null, points: [],
        said: this.field(`${one.id}/term`)?.value || (index ? `another finding (${index + 1})` : "a new finding"),
        edge: this.field(`${one.id}/edge`)?.value || null, mm: inMm(this.field(`${one.id}/mm`)?.value ?? "") || null,
        follows: this.field(`${one.id}/follows`)?.checked ?? false, part: this.partWritten(one.id),
      }));
      return [...fresh, ...known];
    }

    partWritten(target) {
      const written = this.field(`${target}/outline`)?.value;
      const { from_mm: from = null, to_mm: to = null } = written ? JSON.parse(written) : {};
      return { from, to };
    }

    changes(target) {
      if (!target.finding) return [];
      const now = this.form.querySelector(`input[name="${target.value}/change"]:checked`)?.value;
      return CHANGES.map((word) => [word, word === now]);
    }

    change(target, word) {
      const choice = this.form.querySelector(`input[name="${target.value}/change"][value="${word}"]`);
      if (!choice) return;
      choice.checked = true;
      this.changed(choice);
      this.desk.say(`${target.said}: ${word}.`);
    }

    changed(field) {
      field.dispatchEvent(new Event("input", { bubbles: true }));
      field.dispatchEvent(new Event("change", { bubbles: true }));
    }

    sideOf(target) {
      return this.form.querySelector(`input[name="${target}/side"]:checked`)?.value;
    }

    // A field, or a row of choices of one name.
    put(name, value) {
      const field = this.field(name);
      if (!field) return;
      if (field.type === "checkbox") field.checked = value;
      else field.value = value;
      this.changed(field instanceof RadioNodeList ? [...field].find((one) => one.checked) ?? field[0] : field);
    }

    // What was drawn of the other side lies on its own photographs.
    kept(desk) {
      return this.targets(desk).filter((target) => target.finding || this.sideOf(target.value) === desk.told.side).map((target) => {
        const written = this.field(`${target.value}/outline`)?.value;
        const outline = written ? JSON.parse(written) : null;
        const edge = this.field(`${target.value}/edge`)?.value || target.edge;
        const mm = inMm(this.field(`${target.value}/mm`)?.value ?? "");
        if (outline && outline.shape !== "band") return { outline };
        return { band: edge && mm > 0 ? { edge, mm, follows: target.follows, ...this.partWritten(target.value) } : null };
      });
    }

    // What was drawn of a known finding is told of it: it grew, or it was never placed before.
    tell(target) {
      const change = this.form.querySelector(`input[name="${target.value}/change"]:checked`)?.value;
      if (target.finding && (!change || change === NOT_SEEN)) {
        this.change(target, target.mm || target.points.length ? "grown" : "unchanged");
      }
      const row = document.getElementById(target.value);
      if (row?.tagName === "DETAILS") row.open = true;
      this.desk.begin(null);
      this.desk.fillTargets();
      this.desk.chose();
      const term = target.finding ? null : this.field(`${target.value}/term`);
      this.desk.say(term && !term.value ? "Drawn. Now say what it is, below." : `${target.said} is drawn.`);
      if (term && !term.value) term.focus();
    }

    keepBand(desk, target, band) {
      if (!target.finding) {
        this.put(`${target.value}/edge`, band.edge);
        this.put(`${target.value}/follows`, band.follows);
        this.put(`${target.value}/side`, desk.told.side);
      } else if (target.edge !== band.edge) {
        desk.say(`This finding lies along ${target.edge ? `the ${target.edge} edge` : "no edge"}; draw its outline, or record another.`);
        return;
      }
      this.put(`${target.value}/mm`, figure(band.mm));
      this.put(`${target.value}/outline`, JSON.stringify({
        photograph: desk.told.photograph, shape: "band", ...(band.from === null ? {} : { from_mm: band.from, to_mm: band.to }),
      }));
      this.tell(target);
    }

    keepOutline(desk, target, outline) {
      if (!target.finding) this.put(`${target.value}/side`, desk.told.side);
      this.put(`${target.value}/outline`, JSON.stringify(outline));
      this.tell(target);
    }

    async keepFour(desk, points, what) {
      const told = new FormData();
      told.set("form_token", this.form.elements.form_token.value);
      told.set("version", this.versions[what]);
      CORNERS.forEach((name, index) => {
        const at = name.replace(" ", "_");
        told.set(`${at}_x`, figure4(100 * points[index][0]));
        told.set(`${at}_y`, figure4(100 * points[index][1]));
      });
      try {
        const answer = await fetch(`/photographs/${desk.told.photograph}/${what === "window" ? "window-edge" : what}`, { method: "POST", body: new URLSearchParams(told), credentials: "same-origin" });
        if (answer.ok) {
          desk.begin(null);
          if (desk !== this.desk) return;
          return this.show(new DOMParser().parseFromString(await answer.text(), "text/html"), this.address);
        }
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        desk.say(page.querySelector(".fault")?.textContent.trim() || `The corners ${FOURS[what]} were not kept.`);
      } catch {
        desk.say(`The corners ${FOURS[what]} were not kept: the network is away. They stay here; keep them again later.`);
      }
    }
  }

  const root = document.querySelector("[data-findings-on]");
  if (root) new Desk(root, page);

  // In a visit the picture is fetched when its step is looked at.
  for (const place of document.querySelectorAll("[data-findings-src]")) {
    const visit = new Visit(place);
    const seen = new IntersectionObserver((entries) => {
      if (!entries.some((entry) => entry.isIntersecting) || visit.desk || visit.isLoading) return;
      const waits = drawn.waitsOn(visit.at);
      visit.load(/^\d+$/.test(waits) ? `${visit.at}?photograph=${waits}` : visit.at);
    });
    seen.observe(place);
    // Looked at anew: what could not be reached may be within reach again.
    addEventListener("online", () => {
      seen.unobserve(place);
      seen.observe(place);
    });
  }
})();
