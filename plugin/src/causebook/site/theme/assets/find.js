/* Filters on the page of all cases.  They work on the facet table (facets.js), from a server or from a folder.
   Without this script, or without the table, the list as built stays and says what it is. */
(function () {
  "use strict";
  var place = document.querySelector(".cb-find");
  var list = document.getElementById("cb-list");
  var count = document.getElementById("cb-count");
  var table = window.causebookFacets;
  if (!place || !list || !count || !table) { return; }

  var SHOWN = 100;
  var FACETS = [
    ["complaint", "Complaint"], ["root", "Root"], ["helped by", "Helped by"], ["not it", "Suspected, not it"],
    ["found", "Finding present"], ["equipment", "Equipment"], ["outcome", "Outcome"]
  ];
  var ORDERS = [["newest", "Newest first"], ["oldest", "Oldest first"], ["shortest", "Least time first"], ["title", "By title"]];
  var asBuilt = Array.prototype.slice.call(list.childNodes);
  var built = count.textContent;
  var stopped = {};
  table.stopped.forEach(function (i) { stopped[i] = true; });
  var haystack = table.title.map(function (title, i) {
    return [title, table.words[i], table.id[i]].concat(namesOf("root", i), namesOf("helped by", i), namesOf("complaint", i),
      namesOf("found", i)).join(" ").toLowerCase();
  });

  function namesOf(column, i) {
    return table[column].of[i].map(function (code) { return table[column].words[code]; });
  }
  function make(tag, text, attributes) {
    var element = document.createElement(tag);
    if (text) { element.textContent = text; }
    Object.keys(attributes || {}).forEach(function (name) { element.setAttribute(name, attributes[name]); });
    return element;
  }
  function field(name, label, control) {
    var holder = make("div", "", name === "q" ? { "class": "cb-words" } : {});
    control.id = "cb-f-" + name.replace(/ /g, "-");
    control.name = name;
    holder.appendChild(make("label", label, { "for": control.id }));
    holder.appendChild(control);
    return holder;
  }
  function choice(pairs, all) {
    var select = make("select", "", { autocomplete: "off" });
    if (all) { select.appendChild(make("option", all, { value: "" })); }
    pairs.forEach(function (pair) { select.appendChild(make("option", pair[1], { value: pair[0] })); });
    return select;
  }
  function tally(column) {
    var counts = table[column].words.map(function () { return 0; });
    table[column].of.forEach(function (codes) { codes.forEach(function (code) { counts[code] += 1; }); });
    return table[column].words.map(function (word, code) { return [word, word + " (" + counts[code] + ")"]; });
  }

  var form = make("form", "", { role: "search", "aria-label": "Find among all cases" });
  form.appendChild(field("q", "Words", make("input", "", { type: "search", autocomplete: "off" })));
  var narrowing = make("details");
  narrowing.appendChild(make("summary", "Narrow down and sort"));
  narrowing.open = window.matchMedia("(min-width: 45em)").matches;
  var fields = make("fieldset");
  fields.appendChild(make("legend", "Narrow down and sort", { "class": "cb-hidden" }));
  FACETS.forEach(function (facet) {
    if (table[facet[0]].words.length) { fields.appendChild(field(facet[0], facet[1], choice(tally(facet[0]), "any"))); }
  });
  var years = {};
  table.date.forEach(function (date) { years[date.slice(0, 4)] = true; });
  fields.appendChild(field("year", "Year", choice(Object.keys(years).sort().reverse().map(function (y) { return [y, y]; }), "any")));
  fields.appendChild(field("order", "Order", choice(ORDERS)));
  var clear = make("button", "Clear", { type: "reset" });
  fields.appendChild(clear);
  narrowing.appendChild(fields);
  form.appendChild(narrowing);
  place.appendChild(form);

  function wanted() {
    var want = {};
    Array.prototype.forEach.call(form.elements, function (control) {
      if (control.name && control.value.trim()) { want[control.name] = control.value.trim(); }
    });
    if (want.order === "newest") { delete want.order; }
    return want;
  }
  function matches(want) {
    var words = (want.q || "").toLowerCase().split(/\s+/).filter(Boolean);
    var facets = FACETS.filter(function (facet) { return want[facet[0]]; }).map(function (facet) {
      return [table[facet[0]], table[facet[0]].words.indexOf(want[facet[0]])];
    });
    var found = [];
    for (var i = 0; i < table.id.length; i += 1) {
      if ((!want.year || table.date[i].slice(0, 4) === want.year)
          && facets.every(function (facet) { return facet[0].of[i].indexOf(facet[1]) >= 0; })
          && words.every(function (word) { return haystack[i].indexOf(word) >= 0; })) { found.push(i); }
    }
    if (want.order === "oldest") { found.reverse(); }
    if (want.order === "title") { found.sort(function (a, b) { return table.title[a].localeCompare(table.title[b]); }); }
    if (want.order === "shortest") { found.sort(function (a, b) { return table.minutes[a] - table.minutes[b] || a - b; }); }
    return found;
  }
  function item(i) {
    var entry = make("li");
    entry.appendChild(make("a", table.title[i], { href: table.id[i].split("/").map(encodeURIComponent).join("/") + "/index.html" }));
    var line = make("span", "", { "class": "cb-line" });
    if (stopped[i]) { line.appendChild(make("strong", "out of service", { "class": "cb-stopped" })); }
    var roots = namesOf("root", i);
    line.appendChild(document.createTextNode((stopped[i] ? " " : "")
      + (roots.length ? (roots.length > 1 ? "Roots: " : "Root: ") + roots.join(", ") + " · " : "")
      + namesOf("outcome", i).join(", ") + " · " + table.date[i].slice(0, 4)));
    entry.appendChild(line);
    return entry;
  }
  function show(found, upTo) {
    var cases = make("ul");
    found.slice(0, upTo).forEach(function (i) { cases.appendChild(item(i)); });
    var holder = make("div", "", { "class": "cb-cases" });
    holder.appendChild(cases);
    list.replaceChildren(holder);
    if (found.length > upTo) {
      var more = make("button", "Show more", { type: "button" });
      more.addEventListener("click", function () {
        show(found, upTo + SHOWN);
        list.querySelectorAll("li a")[upTo].focus();
      });
      var row = make("p", "", { "class": "cb-find cb-more" });
      row.appendChild(more);
      list.appendChild(row);
    }
  }
  function apply() {
    var want = wanted();
    var query = new URLSearchParams(want).toString();
    try { history.replaceState(null, "", query ? "?" + query : location.pathname); } catch (refused) { /* from a folder */ }
    if (!query) {
      list.replaceChildren.apply(list, asBuilt);
      count.textContent = built;
      return;
    }
    var found = matches(want);
    count.textContent = found.length + " of " + table.id.length + " cases"
      + (found.length ? "" : ". Nothing fits all of that: take one condition away.");
    show(found, SHOWN);
  }

  new URLSearchParams(location.search).forEach(function (value, name) {
    var control = form.elements[name];
    if (control) { control.value = value; }
    if (control && name !== "q") { narrowing.open = true; }
  });
  form.addEventListener("input", apply);
  form.addEventListener("submit", function (event) { event.preventDefault(); apply(); });
  form.addEventListener("reset", function () { setTimeout(apply, 0); });
  apply();
})();
