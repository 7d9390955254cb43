// Filters a list to the lines that hold every word typed. Without this script everything is shown.
(function () {
  "use strict";

  function linesOf(target) {
    if (target.tagName !== "TABLE") return Array.from(target.children);
    return Array.from(target.querySelectorAll("tbody tr:not(.group)"));
  }

  function setUp(filter) {
    var target = document.getElementById(filter.dataset.filter);
    var input = filter.querySelector("input");
    var output = filter.querySelector("output");
    if (!target || !input || filter.dataset.ready) return;
    filter.dataset.ready = "yes";
    filter.hidden = false;
    var lines = linesOf(target).map(function (element) {
      var group = element.parentElement.querySelector("tr.group");
      return { element: element, text: (element.textContent + " " + (group ? group.textContent : "")).toLowerCase() };
    });
    input.addEventListener("input", function () {
      var words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
      var shown = 0;
      lines.forEach(function (line) {
        var fits = words.every(function (word) { return line.text.includes(word); });
        line.element.hidden = !fits;
        if (fits) shown += 1;
      });
      target.querySelectorAll("tbody").forEach(function (body) {
        var group = body.querySelector("tr.group");
        if (group) group.hidden = !body.querySelector("tr:not(.group):not([hidden])");
      });
      output.textContent = words.length ? shown + " of " + lines.length : "";
    });
  }

  function start() {
    document.querySelectorAll("[data-filter]").forEach(setUp);
  }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
