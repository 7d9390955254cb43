// Two pictures of one thing, before and after: laid one over the other, with a line between them that
// a slider moves. Without this script, and on paper, they stand apart.
(function () {
  "use strict";

  var NARROW = "(max-width: 44em)"; // where they would stand one below the other

  function make(tag, names, text) {
    var element = document.createElement(tag);
    element.className = names;
    if (text) element.textContent = text;
    return element;
  }

  function shapeOf(picture) {
    if (picture.tagName === "IMG") return picture.getAttribute("width") / picture.getAttribute("height");
    return picture.viewBox.baseVal.width / picture.viewBox.baseVal.height;
  }

  function lay(box) {
    var words = box.dataset.over.split("|");
    var sides = Array.from(box.children);
    var pictures = sides.map(function (side) { return side.querySelector("svg, img"); });
    if (pictures.length !== 2 || !pictures[0] || !pictures[1]) return;
    // Of different shapes they aren't of the same thing, or not from the same place.
    if (Math.abs(shapeOf(pictures[0]) / shapeOf(pictures[1]) - 1) > 0.02) return;
    pictures.forEach(function (picture) {
      (picture.tagName === "IMG" && picture.closest("a") || picture).classList.add("over-picture");
    });

    var frame = make("div", "over");
    var tools = make("div", "over-tools");
    var button = make("button", "");
    button.type = "button";
    var slider = make("input", "");
    slider.type = "range";
    slider.min = 0;
    slider.max = 100;
    slider.setAttribute("aria-label", "The line between " + words[0].toLowerCase() + " (left) and " + words[1].toLowerCase() + " (right)");
    tools.append(make("b", "", words[0]), button, make("b", "", words[1]), slider);
    box.insertAdjacentElement("beforebegin", frame);
    frame.append(tools, box);

    function move() {
      box.style.setProperty("--at", slider.value + "%");
      slider.setAttribute("aria-valuetext", slider.value + " % " + words[0].toLowerCase() + ", " + (100 - slider.value) + " % " + words[1].toLowerCase());
    }
    function show(over) {
      box.classList.toggle("laid-over", over);
      tools.classList.toggle("over-open", over);
      button.textContent = over ? "Show them apart" : "Lay one over the other";
    }
    // Which of the two is pointed at is the one that says so.
    function speak(event) {
      sides.forEach(function (side) { side.classList.toggle("quiet", !side.contains(event.target)); });
    }
    ["pointerover", "pointerdown", "focusin"].forEach(function (name) { box.addEventListener(name, speak); });
    sides[0].classList.add("quiet");
    slider.addEventListener("input", move);
    button.addEventListener("click", function () { show(!box.classList.contains("laid-over")); });
    move();
    show(matchMedia(NARROW).matches);
  }

  function start() { document.querySelectorAll("[data-over]").forEach(lay); }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
