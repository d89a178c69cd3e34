// The labels of a drawing are as large on a phone and under a magnified picture, and none lies
// upon another: what is there now stays first, what finds no room stands in the table alone.
// Placed as in api/pages/label_places.py: ways to move aside, in steps of their height.
"use strict";

{
const LABEL_PX = 19, DATE_PX = 14;
const WAYS = [[0, 1], [0, -1], [1, 0], [-1, 0], [1, 1], [-1, 1], [1, -1], [-1, -1]];
const STEP = 0.55, MOST_STEPS = 8, AIR = 0.12;
const held = (value, low, high) => Math.min(Math.max(value, low), high);

// `width` and `height` are those of the whole drawing, `unit` so much of it as one pixel shows.
globalThis.placeLabels = (picture, { width, height }, unit) => {
  const taken = [];
  for (const label of [...picture.querySelectorAll(".label")].reverse()) {
    const size = unit * (label.closest(".now") ? LABEL_PX : DATE_PX);
    const best = [Number(label.dataset.x), Number(label.dataset.y)];
    label.parentNode.querySelector(".label-leader")?.remove();
    label.setAttribute("font-size", size);
    const { width: wide, height: high } = label.getBBox();
    if (!wide) continue;
    const half = [wide / 2 + AIR * size, high / 2 + AIR * size];
    const box = ([x, y]) => [x - half[0], y - half[1], x + half[0], y + half[1]];
    const isFree = (place) => {
      const [l, t, r, b] = box(place);
      return taken.every((one) => one[2] <= l || r <= one[0] || one[3] <= t || b <= one[1]);
    };
    const first = [held(best[0], half[0], width - half[0]), held(best[1], half[1], height - half[1])];
    const tried = [first];
    for (let step = 1; step <= MOST_STEPS; step += 1) {
      for (const [across, down] of WAYS) {
        const x = first[0] + across * (half[0] + step * STEP * size), y = first[1] + down * step * STEP * size;
        if (x >= half[0] && x <= width - half[0] && y >= half[1] && y <= height - half[1]) tried.push([x, y]);
      }
    }
    const away = ([x, y]) => Math.hypot(x - first[0], y - first[1]);
    const place = tried.sort((one, other) => away(one) - away(other)).find(isFree);
    label.setAttribute("visibility", place ? "visible" : "hidden");
    if (!place) continue;
    taken.push(box(place));
    label.setAttribute("x", place[0]);
    label.setAttribute("y", place[1]);
    const [l, t, r, b] = box(place), near = [held(best[0], l, r), held(best[1], t, b)];
    if (Math.abs(near[0] - best[0]) + Math.abs(near[1] - best[1]) < size / 2) continue;
    const leader = document.createElementNS("http://www.w3.org/2000/svg", "path");
    const given = { class: "label-leader", d: `M${best.join(" ")}L${near.join(" ")}`, "vector-effect": "non-scaling-stroke" };
    for (const [name, value] of Object.entries(given)) leader.setAttribute(name, value);
    label.before(leader);
  }
};
}
