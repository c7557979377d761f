/* The box that takes words, readings and codes: in the head of every page and, larger, on the first page.  What it
   finds stands under it while one types.  Nothing is loaded before somebody turns to it. */
(function () {
  "use strict";
  var script = document.currentScript && document.currentScript.src;
  if (!script) { return; }
  var root = new URL("../", script), RECENT = "causebook.recent", loading = {};

  function make(tag, text, attributes) {
    var element = document.createElement(tag);
    if (text) { element.textContent = text; }
    Object.keys(attributes || {}).forEach(function (name) { element.setAttribute(name, attributes[name]); });
    return element;
  }
  function at(path) { return new URL(path, root).href; }
  /* A script only loaded when it is needed; from a folder too. */
  function load(path) {
    loading[path] = loading[path] || new Promise(function (resolve, reject) {
      var element = make("script", "", { src: at(path) });
      element.onload = resolve;
      element.onerror = reject;
      document.head.appendChild(element);
    });
    return loading[path];
  }
  var seeking = null, nearing = null;
  function seek() {
    seeking = seeking || Promise.all([load("find/seek.js"), load("assets/seek.js")]).then(function () {
      return window.causebookSeek(window.causebookSeekIndex);
    });
    return seeking;
  }
  function nearness() {
    nearing = nearing || Promise.all(["cases/facets.js", "find/findings.js", "assets/vectors.js", "assets/nearness.js"].map(load)).then(function () {
      return window.causebookNearness(window.causebookFindings, window.causebookFacets.id);
    });
    return nearing;
  }

  /* ---- what is found, as elements; cases/find.js shows the same on the page of all cases */

  function stopBox(name, text) {
    var box = make("div", "", { "class": "cb-stop cb-stop-open" });
    box.appendChild(make("p")).appendChild(make("strong", "Stop use: " + name));
    box.appendChild(make("p", text));
    return box;
  }
  function entry(hit) {
    var item = make("li");
    item.appendChild(make("a", hit.title, { href: at(hit.address) }));
    item.appendChild(make("span", hit.line, { "class": "cb-line" }));
    return item;
  }
  /* What the words come to, in sentences; the counts are of pages. */
  function told(answer) {
    var out = [], whole = answer.hits.filter(function (hit) { return hit.whole; }).length, n = answer.hits.length;
    Object.keys(answer.instead).forEach(function (word) {
      var near = answer.instead[word];
      out.push(near ? "No page has “" + word + "”. Showing “" + near + "”." : "No page has “" + word + "”.");
    });
    answer.codes.forEach(function (code) {
      if (!answer.hits.some(function (hit) { return hit.whole; })) {
        out.push("No case here has code " + code.toUpperCase() + ". Codes differ by manufacturer and model: read the chart on the furnace door.");
      }
    });
    if (n) { out.push(whole === n ? n + (n === 1 ? " page fits." : " pages fit.") : whole + (whole === 1 ? " page fits" : " pages fit") + " all of it, " + (n - whole) + " some of it."); }
    if (!n && !Object.keys(answer.typed).length && !answer.codes.length) { out.push("Nothing fits."); }
    return out.join(" ");
  }
  function address(typed) {
    var query = new URLSearchParams();
    Object.keys(typed).forEach(function (id) { query.set("read." + id, typed[id].text + "~" + typed[id].unit); });
    return at("find/index.html?" + query);
  }
  /* The cases nearest to the readings among the words, with stops and warnings first. */
  function read(typed, engine) {
    return nearness().then(function (near) {
      var values = {}, table = window.causebookFacets, index = window.causebookFindings, out = document.createDocumentFragment();
      Object.keys(typed).forEach(function (id) { values[id] = typed[id].value; });
      var wrong = near.wrong(values);
      Object.keys(wrong).forEach(function (id) { delete values[id]; });
      var found = near.find({ typed: values }, 3), list = make("ul");
      found.stops.forEach(function (pair) { out.appendChild(stopBox(pair[0].name, pair[0].do)); });
      found.beyond.forEach(function (one) {
        var box = make("div", "", { "class": "cb-stop cb-stop-open" });
        box.appendChild(make("p")).appendChild(make("strong", "Warning: " + near.asks[one.ask].name));
        box.appendChild(make("p", one.says));
        out.appendChild(box);
      });
      var line = make("p"), words = Object.keys(typed).map(function (id) {
        return engine.asks[id][0] + " " + typed[id].text + " " + engine.asks[id][1][typed[id].unit][0] + (id in wrong ? " (cannot be)" : "");
      });
      line.appendChild(make("a", "Readings: " + words.join(", "), { href: address(typed) }));
      out.appendChild(line);
      if (found.like.length && found.like[0].word !== "weak") {
        found.like.forEach(function (one) {
          list.appendChild(entry({ title: table.title[one.i], address: "cases/" + encodeURIComponent(table.id[one.i]) + "/index.html", line: table.line[one.i] }));
        });
      } else {
        out.appendChild(make("p", "No case here is near this. Causes that fit best:"));
        found.fits.slice(0, 3).forEach(function (fit) {
          var tells = index.findings[fit.tells];
          list.appendChild(entry({ title: index.causes[fit.cause][0], address: index.causes[fit.cause][3], line: tells ? "Look for: " + tells[0] : "" }));
        });
      }
      out.appendChild(list);
      return out;
    });
  }

  /* ---- the box */

  function attach(form, most) {
    var input = form.querySelector("input[type=search]"), asked = 0;
    if (!input) { return; }
    var panel = make("div", "", { "class": "cb-seek-panel", role: "region", "aria-label": "What fits" });
    var status = make("p", "", { "class": "cb-count", role: "status" }), danger = make("div", "", { role: "alert" });
    var readings = make("div", "", { "class": "cb-cases" }), list = make("ul"), all = make("p");
    var holder = make("div", "", { "class": "cb-cases" });
    holder.appendChild(list);
    [danger, status, readings, holder, all].forEach(function (part) { panel.appendChild(part); });
    panel.hidden = true;
    form.appendChild(panel);

    function show() {
      var text = input.value.trim(), mine = asked += 1;
      if (!text) {
        panel.hidden = true;
        return;
      }
      seek().then(function (engine) {
        if (mine !== asked) { return; }
        var answer = engine.ask(text), hits = answer.hits.slice(0, most), told_ = told(answer);
        var stops = answer.stops.join();
        if (danger.dataset.told !== stops) {
          danger.dataset.told = stops;
          danger.replaceChildren.apply(danger, answer.stops.map(function (id) { return stopBox(engine.stops[id][0], engine.stops[id][1]); }));
        }
        status.textContent = told_;
        list.replaceChildren.apply(list, hits.map(entry));
        all.replaceChildren();
        if (answer.hits.length > hits.length) { all.appendChild(make("a", "All results", { href: at("cases/index.html?" + new URLSearchParams({ q: text })) })); }
        panel.hidden = false;
        if (!Object.keys(answer.typed).length) {
          readings.replaceChildren();
          return;
        }
        return read(answer.typed, engine).then(function (found) { if (mine === asked) { readings.replaceChildren(found); } });
      }).catch(function () {
        status.textContent = "The search could not be loaded. Press Enter to look through all cases.";
        panel.hidden = false;
      });
    }
    function links() { return Array.prototype.slice.call(panel.querySelectorAll("a")); }
    input.addEventListener("focus", function () { seek().catch(function () {}); }, { once: true });
    input.addEventListener("input", show);
    form.addEventListener("keydown", function (event) {
      var every = links(), here = every.indexOf(document.activeElement);
      if (event.key === "Escape" && !panel.hidden) {
        panel.hidden = most < 10;
        input.focus();
      } else if (event.key === "ArrowDown" && every[here + 1]) {
        event.preventDefault();
        every[here + 1].focus();
      } else if (event.key === "ArrowUp" && here >= 0) {
        event.preventDefault();
        (every[here - 1] || input).focus();
      }
    });
    if (most < 10) {
      document.addEventListener("focusin", function (event) { if (!form.contains(event.target)) { panel.hidden = true; } });
      document.addEventListener("pointerdown", function (event) { if (!form.contains(event.target)) { panel.hidden = true; } });
    }
    if (input.value.trim()) { show(); }
  }
  document.querySelectorAll(".cb-seek").forEach(function (form) { attach(form, 6); });
  document.querySelectorAll(".cb-ask").forEach(function (form) { attach(form, 10); });

  /* ---- the last cases opened on this device */

  function recent() {
    try { return JSON.parse(localStorage.getItem(RECENT)) || []; } catch (refused) { return []; }
  }
  var here = location.href.replace(/[?#].*/, ""), cases = at("cases/");
  var id = here.indexOf(cases) === 0 && /^([^/]+)\/(index\.html)?$/.exec(here.slice(cases.length));
  if (id && document.querySelector("h1")) {
    var title = document.querySelector("h1").firstChild.textContent.trim();
    var list = recent().filter(function (one) { return one[0] !== id[1]; });
    try { localStorage.setItem(RECENT, JSON.stringify([[id[1], title]].concat(list).slice(0, 5))); } catch (refused) { /* not remembered */ }
  }
  document.querySelectorAll(".cb-recent").forEach(function (place) {
    var opened = recent(), items = make("ul");
    if (!opened.length) { return; }
    opened.forEach(function (one) { items.appendChild(entry({ title: one[1], address: "cases/" + one[0] + "/index.html", line: "" })); });
    place.querySelector(".cb-cases").appendChild(items);
    place.hidden = false;
  });

  window.causebookDoor = { seek: seek, nearness: nearness, read: read, told: told, stopBox: stopBox, entry: entry };
})();
