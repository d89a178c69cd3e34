// Two photographs laid upon each other: the line between them goes where one slides, taps or keys it.
"use strict";

for (const compare of document.querySelectorAll("[data-compare]")) {
  const find = (name) => compare.querySelector(`[data-${name}]`);
  const slide = find("slide");
  const picture = find("picture");
  const box = picture.viewBox.baseVal;

  const draw = () => {
    const share = Number(slide.value) / 100;
    const at = box.x + box.width * share;
    find("part").setAttribute("x", at);
    find("between").setAttribute("transform", `translate(${at} 0)`);
    slide.setAttribute("aria-valuetext", `${slide.value} % before, ${100 - slide.value} % after`);
  };
  const goTo = (value) => {
    slide.value = value;
    draw();
  };

  slide.addEventListener("input", draw);
  picture.addEventListener("click", (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
    goTo(Math.round((100 * (at.x - box.x)) / box.width));
  });
  for (const button of compare.querySelectorAll("[data-to]")) {
    button.addEventListener("click", () => goTo(button.dataset.to));
  }
  find("both").hidden = false;
  draw();
}
