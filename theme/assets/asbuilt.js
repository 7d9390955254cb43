// What a script adds to pages that can be read without one: lists that filter, sort and copy, plans
// to choose from and to look at closely, drawings that say in words what is pointed at, what is new.
(function () {
  "use strict";

  function each(selector, act, within) {
    (within || document).querySelectorAll(selector).forEach(function (element) {
      if (element.dataset.ready) return;
      element.dataset.ready = "yes";
      act(element);
    });
  }

  function make(tag, names, text) {
    var element = document.createElement(tag);
    if (names) element.className = names;
    if (text) element.textContent = text;
    if (tag === "button") element.type = "button";
    return element;
  }

  // Filter: the lines that hold every word typed

  function linesOf(target) {
    if (target.tagName !== "TABLE") return Array.from(target.children);
    return Array.from(target.querySelectorAll("tbody tr:not(.group)"));
  }

  function filter(line) {
    var target = document.getElementById(line.dataset.filter);
    var input = line.querySelector("input");
    var output = line.querySelector("output");
    if (!target || !input) return;
    line.hidden = false;
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

  // Plans: choose what is shown, look closer

  function plan(board) {
    var choices = board.querySelector(".choices");
    if (!choices) return;
    var rooms = Array.from(board.querySelectorAll("li[data-outlet]"));
    if (!rooms.length) return;
    choices.hidden = false;
    var selects = Array.from(choices.querySelectorAll("select"));
    var output = choices.querySelector("output");
    var onPlan = {};
    board.querySelectorAll(".plan-layer [data-outlet]").forEach(function (sign) {
      onPlan[sign.dataset.outlet] = sign;
    });
    function choose() {
      var wanted = selects.filter(function (select) { return select.value !== ""; });
      var dark = wanted.some(function (select) { return select.dataset.by === "dark"; });
      var found = 0;
      rooms.forEach(function (room) {
        var fits = wanted.every(function (select) {
          var by = select.dataset.by;
          var values = room.dataset[by] || "";
          return by === "serves" ? values === select.value : values.split(" ").includes(select.value);
        });
        if (fits) found += 1;
        [room, onPlan[room.dataset.outlet]].forEach(function (element) {
          if (!element) return;
          element.classList.toggle("set-aside", !fits);
          element.classList.toggle("chosen", fits && wanted.length > 0);
          element.classList.toggle("goes-dark", fits && dark);
        });
      });
      output.textContent = wanted.length ? found + " of " + rooms.length + (dark ? " lose service" : "") : "";
    }
    selects.forEach(function (select) { select.addEventListener("change", choose); });
    choose(); // a browser may keep what was chosen when one comes back
  }

  function look(view) {
    var board = view.querySelector(".plan-board");
    var tools = view.parentElement.querySelector(".plan-tools");
    if (!board || !tools) return;
    tools.hidden = false;
    var size = 1;
    function zoom(to, x, y) {
      var before = board.getBoundingClientRect();
      var box = view.getBoundingClientRect();
      x = x === undefined ? box.left + view.clientWidth / 2 : x;
      y = y === undefined ? box.top + view.clientHeight / 2 : y;
      var across = (x - before.left) / before.width;
      var down = (y - before.top) / before.height;
      size = Math.min(8, Math.max(0, to));
      board.style.setProperty("min-width", size === 0 ? "0" : "");
      board.style.setProperty("width", size <= 1 ? "" : size * 100 + "%");
      var after = board.getBoundingClientRect();
      view.scrollLeft += after.left + across * after.width - x;
      view.scrollTop += after.top + down * after.height - y;
    }
    tools.addEventListener("click", function (event) {
      var how = event.target.dataset.zoom;
      if (how === "in") zoom(Math.max(1, size) * (size ? 1.5 : 1));
      if (how === "out") zoom(size > 1.4 ? size / 1.5 : size > 1 ? 1 : 0);
      if (how === "whole") zoom(0);
    });
    view.addEventListener("keydown", function (event) {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (event.key === "+" || event.key === "=") zoom(Math.max(1, size) * 1.5);
      else if (event.key === "-") zoom(size > 1.4 ? size / 1.5 : size > 1 ? 1 : 0);
      else if (event.key === "0") zoom(0);
      else return;
      event.preventDefault();
    });
    view.addEventListener("wheel", function (event) {
      if (!event.ctrlKey) return; // a plain wheel scrolls the page
      event.preventDefault();
      zoom(Math.max(1, size) * (event.deltaY < 0 ? 1.2 : 1 / 1.2), event.clientX, event.clientY);
    }, { passive: false });
    // A mouse drags the plan; a finger scrolls it by itself.
    var held = null;
    var dragged = false;
    view.addEventListener("pointerdown", function (event) {
      if (event.pointerType !== "mouse" || event.button !== 0) return;
      held = { x: event.clientX, y: event.clientY, left: view.scrollLeft, top: view.scrollTop };
      dragged = false;
    });
    window.addEventListener("pointermove", function (event) {
      if (!held) return;
      var dx = event.clientX - held.x;
      var dy = event.clientY - held.y;
      if (Math.abs(dx) + Math.abs(dy) > 5) dragged = true;
      view.scrollLeft = held.left - dx;
      view.scrollTop = held.top - dy;
    });
    window.addEventListener("pointerup", function () { held = null; });
    view.addEventListener("dragstart", function (event) { event.preventDefault(); });
    view.addEventListener("click", function (event) {
      if (!dragged) return;
      dragged = false;
      event.preventDefault();
      event.stopPropagation();
    }, true);
  }

  // Drawings say in words what is pointed at; a finger's first tap tells, its second follows

  function told(link) {
    var title = link.querySelector(":scope > title");
    var words = title ? title.textContent : link.getAttribute("xlink:title") || "";
    return words.trim();
  }

  function hrefs(within) {
    return Array.from(within.querySelectorAll("a[href]")).map(function (end) { return end.getAttribute("href"); });
  }

  // The lines of a list of the page's own by each thing they link, looked for once
  function linesBy(selector) {
    var found = null;
    return function (href) {
      if (!found) {
        found = Object.create(null);
        document.querySelectorAll(selector).forEach(function (line) {
          var ends = hrefs(line);
          new Set(ends).forEach(function (end) { (found[end] = found[end] || []).push(ends); });
        });
      }
      return found[href] || [];
    };
  }

  // A port drawn so that it leads to its outlet says apart which port it is
  function own(port) {
    return port.dataset.port || port.getAttribute("href");
  }

  // What a cord joins: each line links both ports and the outlet; and the ways of paths
  var cordsOf = linesBy("table[data-cords] tbody tr");
  var allWaysOf = linesBy("[data-paths] [data-way]");

  function middle(thing) {
    var box = thing.getBBox();
    return (box.x + box.width / 2) + " " + (box.y + box.height / 2);
  }

  // The whole ways a port is on. What many share, as an uplink, is on nobody's way in particular.
  function waysOf(href) {
    var found = allWaysOf(href);
    return found.length <= 2 ? found : [];
  }

  function dim() {
    document.querySelectorAll("svg .cord-drawn").forEach(function (line) { line.remove(); });
    document.querySelectorAll("svg a.on-path").forEach(function (port) { port.classList.remove("on-path"); });
    document.querySelectorAll(".path-lit").forEach(function (line) { line.remove(); });
  }

  // Light the ports of ways, and draw from each to the next where both are in one drawing.
  function lightWays(ways) {
    var drawn = Array.from(document.querySelectorAll("figure.sheet svg a.port"));
    ways.forEach(function (way) {
      var before = [];
      way.forEach(function (href) {
        var here = drawn.filter(function (port) { return own(port) === href; });
        here.forEach(function (port) {
          port.classList.add("on-path");
          before.forEach(function (from) {
            if (from.ownerSVGElement !== port.ownerSVGElement) return;
            var line = document.createElementNS("http://www.w3.org/2000/svg", "path");
            line.setAttribute("d", "M" + middle(from) + "L" + middle(port));
            line.setAttribute("class", "cord-drawn");
            port.ownerSVGElement.appendChild(line);
          });
        });
        before = here;
      });
    });
  }

  function light(link) {
    dim();
    var href = own(link);
    var ways = waysOf(href);
    if (ways.length) { lightWays(ways); return; }
    cordsOf(href).forEach(function (ends) {
      lightWays([ends.filter(function (end) { return end.includes("#port-"); })]);
    });
  }

  // An address that names a path lights it, and says above the drawings where it runs
  function lightNamed() {
    var line = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    var sheets = document.querySelector(".sheets");
    if (!line || !sheets || !line.closest("[data-paths]")) return;
    dim();
    lightWays(Array.from(line.querySelectorAll("[data-way]")).map(hrefs));
    var said = make("p", "path-lit");
    said.tabIndex = -1;
    said.append("Lit: the path of outlet ");
    line.childNodes.forEach(function (part) { said.append(part.cloneNode(true)); });
    sheets.insertAdjacentElement("beforebegin", said);
    // After the browser's own going to the line in the list.
    requestAnimationFrame(function () { said.focus(); said.scrollIntoView(); });
  }

  function telling(figure) {
    var line = figure.querySelector(".telling");
    if (!line) {
      line = make("p", "telling");
      var drawing = figure.querySelector("svg");
      drawing.insertAdjacentElement("afterend", line);
    }
    line.setAttribute("aria-hidden", "true"); // a screen reader has the link's own name
    var idle = "Point at a thing or tap it: here it says where it leads.";
    line.textContent = idle;
    var shown = null;
    var touched = false;
    function tell(event) {
      var link = event.target.closest && event.target.closest("svg a");
      if (!link || !figure.contains(link)) return null;
      var words = told(link);
      if (words) line.textContent = words;
      if (link.classList.contains("port")) light(link);
      return words ? link : null;
    }
    figure.addEventListener("pointerover", function (event) { if (event.pointerType === "mouse") tell(event); });
    figure.addEventListener("focusin", function (event) { if (!touched) tell(event); });
    figure.addEventListener("pointerdown", function (event) { touched = event.pointerType === "touch"; });
    figure.addEventListener("click", function (event) {
      if (!touched || event.detail === 0) return; // a key's click has no count
      var before = shown;
      shown = tell(event);
      if (!shown || shown === before) return;
      event.preventDefault();
      line.textContent += " — tap again to go there";
    });
  }

  // Tables sort by any column, and copy as CSV

  var order = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

  function cellText(cell) {
    return cell ? cell.textContent.replace(/\s+/g, " ").trim() : "";
  }

  function without(cell, selector) {
    var copy = cell.cloneNode(true);
    copy.querySelectorAll(selector).forEach(function (element) { element.remove(); });
    return cellText(copy);
  }

  function compare(a, b) {
    if (!a || !b) return a ? -1 : b ? 1 : 0; // what is empty goes last
    var number = /^[−-]?\d+(\.\d+)?(?![\w./-])/;
    var x = number.exec(a);
    var y = number.exec(b);
    if (x && y) return parseFloat(x[0].replace("−", "-")) - parseFloat(y[0].replace("−", "-")) || order.compare(a, b);
    return order.compare(a, b);
  }

  function table(list) {
    var head = list.tHead && list.tHead.rows[0];
    var lines = linesOf(list);
    if (!head || lines.length < 3 || list.closest(".binder, .door-sheet")) return;
    if (lines.some(function (row) { return row.cells.length !== head.cells.length && !row.querySelector("[colspan]"); })) return;
    var grouped = !!list.querySelector("tr.group");
    var places = lines.map(function (row) { return [row, row.parentElement]; });
    var back = null;

    function inOrder() {
      places.forEach(function (place) { place[1].appendChild(place[0]); });
      list.querySelectorAll(".sorted-in").forEach(function (element) { element.remove(); });
      list.classList.remove("out-of-groups");
      Array.from(head.cells).forEach(function (cell) { cell.removeAttribute("aria-sort"); });
      if (back) back.hidden = true;
    }

    function sortBy(cell, up) {
      inOrder();
      var at = cell.cellIndex;
      var body = list.tBodies[0];
      if (grouped) {
        // Out of its group a line says itself where it belongs.
        list.classList.add("out-of-groups");
        body = list.insertBefore(make("tbody", "sorted-in"), list.tBodies[0]);
      }
      places.map(function (place, index) {
        var row = place[0];
        var own = row.cells[at];
        var text = cellText(own);
        var group = place[1].querySelector("tr.group");
        if (group) row.cells[0].appendChild(make("span", "sorted-in floor", without(group.cells[0], ".floor")));
        return { row: row, index: index, text: text };
      }).sort(function (a, b) {
        var turn = up || !a.text || !b.text ? 1 : -1;
        return turn * compare(a.text, b.text) || a.index - b.index;
      }).forEach(function (line) { body.appendChild(line.row); });
      cell.setAttribute("aria-sort", up ? "ascending" : "descending");
      back.hidden = false;
    }

    Array.from(head.cells).forEach(function (cell) {
      if (!cellText(cell) || cell.querySelector(".hidden")) return;
      var button = make("button", "sorts");
      while (cell.firstChild) button.appendChild(cell.firstChild);
      button.title = "Sort by this column";
      cell.appendChild(button);
      button.addEventListener("click", function () {
        sortBy(cell, cell.getAttribute("aria-sort") !== "ascending");
      });
    });
    var tools = make("p", "list-tools");
    back = make("button", "", "In the order they came");
    back.hidden = true;
    back.addEventListener("click", inOrder);
    var copy = copier("Copy as CSV", function (said) {
      var text = csvOf(list, head, grouped);
      put(text.join("\r\n") + "\r\n", function (done) {
        said.textContent = done ? text.length - 1 + " lines copied" : "This browser doesn't let a page copy.";
      });
    });
    tools.append(copy.button, " ", back, " ", copy.said);
    var frame = list.closest(".scroll") || list;
    frame.insertAdjacentElement("afterend", tools);
  }

  function csvOf(list, head, grouped) {
    var titles = Array.from(head.cells).map(function (cell) { return cellText(cell); });
    var rows = [grouped ? ["Group"].concat(titles) : titles];
    linesOf(list).forEach(function (row) {
      if (row.hidden) return;
      var moved = row.querySelector("span.sorted-in");
      var group = row.parentElement.querySelector("tr.group");
      var name = moved ? cellText(moved) : group ? without(group.cells[0], ".floor") : "";
      var cells = [];
      Array.from(row.cells).forEach(function (cell) {
        cells.push(without(cell, ".sorted-in"));
        for (var more = 1; more < cell.colSpan; more += 1) cells.push("");
      });
      rows.push(grouped ? [name].concat(cells) : cells);
    });
    return rows.map(function (row) { return row.map(csvCell).join(","); });
  }

  // No spreadsheet may take a cell for a formula (CWE-1236).
  function csvCell(text) {
    if (/^[=+\-@]/.test(text.slice(0, 1).normalize("NFKC"))) text = "'" + text;
    return /[",\r\n]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text;
  }

  // A button that copies, and what it says of that
  function copier(label, copyAndSay) {
    var button = make("button", "", label);
    var said = make("span", "telling");
    said.setAttribute("role", "status");
    button.addEventListener("click", function () { copyAndSay(said); });
    return { button: button, said: said };
  }

  function put(text, done) {
    function byHand() {
      var field = make("textarea", "hidden");
      field.value = text;
      document.body.appendChild(field);
      field.select();
      var good = false;
      try { good = document.execCommand("copy"); } catch (error) { good = false; }
      field.remove();
      done(good);
    }
    if (!navigator.clipboard || !navigator.clipboard.writeText) { byHand(); return; }
    navigator.clipboard.writeText(text).then(function () { done(true); }, byHand);
  }

  // A text to be copied and filled in elsewhere

  function copied(text) {
    var tools = make("p", "list-tools");
    var copy = copier("Copy this text", function (said) {
      put(text.textContent, function (done) {
        said.textContent = done ? "Copied" : "This browser doesn't let a page copy: select the text.";
      });
    });
    tools.append(copy.button, " ", copy.said);
    text.insertAdjacentElement("afterend", tools);
  }

  // Find in all sites: the lines of a script that is fetched when somebody begins to type

  var FOUND = 40;

  function finder(box) {
    var input = box.querySelector("input");
    var output = box.querySelector("output");
    var list = box.querySelector("ol");
    var lines = null;
    box.hidden = false;
    function take(sites) {
      lines = [];
      sites.forEach(function (site) {
        site[2].split("\n").forEach(function (line) {
          if (!line) return;
          var parts = line.split("\t");
          lines.push({
            folder: site[0], site: site[1], title: parts[0], more: parts[1], at: parts[2],
            text: (parts[0] + " " + parts[1] + " " + site[1] + " " + site[0]).toLowerCase(),
            label: parts[0].toLowerCase()
          });
        });
      });
      find();
    }
    function fetchLines() {
      if (lines || window.asbuiltFinds) return;
      window.asbuiltFinds = take;
      var script = document.createElement("script");
      script.src = box.dataset.finder;
      script.onerror = function () { output.textContent = "What can be found isn’t there: " + box.dataset.finder; };
      document.head.appendChild(script);
    }
    // How well a line fits: its label is what was typed, begins with it, holds it, or else.
    function rank(line, typed) {
      if (line.label === typed) return 0;
      if (line.label.startsWith(typed)) return 1;
      return line.label.includes(typed) ? 2 : 3;
    }
    function find() {
      var typed = input.value.trim().toLowerCase();
      var words = typed.split(/\s+/).filter(Boolean);
      list.textContent = "";
      if (!lines || !words.length) { output.textContent = ""; return; }
      var ranked = [[], [], [], []];
      var count = 0;
      lines.forEach(function (line) {
        if (!words.every(function (word) { return line.text.includes(word); })) return;
        count += 1;
        var group = ranked[rank(line, typed)];
        if (group.length < FOUND) group.push(line);
      });
      [].concat.apply([], ranked).slice(0, FOUND).forEach(function (line) {
        var item = make("li");
        var link = make("a", "", line.title);
        link.href = line.folder + "/" + line.at;
        item.append(link, make("span", "", " " + line.more), make("b", "", " " + line.site));
        list.appendChild(item);
      });
      output.textContent = count > FOUND ? FOUND + " of " + count + " shown" : count ? String(count) : "nothing";
    }
    input.addEventListener("focus", fetchLines);
    input.addEventListener("input", function () { fetchLines(); find(); });
  }

  // What is new since this browser last showed the list: it remembers the newest line it showed

  function sinceLast(list) {
    var entries = Array.from(list.querySelectorAll(".log > li:not(.uncommitted)"));
    var names = entries.map(function (entry) { return hrefs(entry)[0].split("#")[1]; });
    if (!names.length) return;
    var key = "asbuilt:" + location.pathname.replace(/index\.html$/, "");
    var before = null;
    try {
      before = localStorage.getItem(key);
      localStorage.setItem(key, names[0]);
    } catch (error) { return; } // a browser may keep nothing
    if (before === null) return;
    var known = names.indexOf(before);
    entries.slice(0, known < 0 ? entries.length : known).forEach(function (entry) {
      entry.querySelector(".stamp").classList.add("new-here");
    });
  }

  // A list that fits keeps its header in view; one that is wider scrolls by itself instead

  function fitting(frame) {
    function look() {
      frame.classList.remove("fits");
      frame.classList.toggle("fits", frame.scrollWidth <= frame.clientWidth);
    }
    var watch = new ResizeObserver(look);
    [frame.parentElement, frame.firstElementChild].forEach(function (element) { watch.observe(element); });
  }

  function start() {
    each("[data-filter]", filter);
    each("[data-finder]", finder);
    each("[data-plan]", plan);
    each(".plan-view", look);
    each("figure.sheet:not(.diagram-sheet), figure.plan-sheet", function (figure) {
      if (figure.querySelector("svg a > title")) telling(figure);
    });
    each("table.list", table);
    each("pre.to-copy", copied);
    each("[data-since]", sinceLast);
    each(".scroll", fitting);
    if (document.querySelector("[data-paths]")) {
      window.addEventListener("hashchange", lightNamed);
      lightNamed();
    }
  }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
