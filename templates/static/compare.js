// Two photographs laid upon each other, whole or margin by margin: the line between them goes
// where one slides, taps or keys it.
"use strict";

for (const compare of document.querySelectorAll("[data-compare]")) {
  const find = (name) => compare.querySelector(`[data-${name}]`);
  const slide = find("slide");
  const pictures = [...compare.querySelectorAll("[data-picture]")];

  const draw = () => {
    const share = Number(slide.value) / 100;
    for (const picture of pictures) {
      const { x, width } = picture.viewBox.baseVal;
      const at = x + width * share;
      picture.querySelector("[data-part]").setAttribute("x", at);
      picture.querySelector("[data-between]").setAttribute("transform", `translate(${at} 0)`);
    }
    slide.setAttribute("aria-valuetext", `${slide.value} % before, ${100 - slide.value} % after`);
  };
  const goTo = (value) => {
    slide.value = value;
    draw();
  };

  slide.addEventListener("input", draw);
  for (const picture of pictures) {
    picture.addEventListener("click", (event) => {
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
      const { x, width } = picture.viewBox.baseVal;
      goTo(Math.round((100 * (at.x - x)) / width));
    });
  }
  for (const button of compare.querySelectorAll("[data-to]")) {
    button.addEventListener("click", () => goTo(button.dataset.to));
  }
  find("both").hidden = false;
  draw();
}
