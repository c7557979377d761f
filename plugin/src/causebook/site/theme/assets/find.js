/* The page of all cases: filters, sorting and words in one form.  Filters work on the facet table (facets.js), words on
   the search of every page (door.js, seek.js), from a server or from a folder; the full text can be asked for too where
   the site is served (words.js).  Without this script, or without the table, the list as built stays. */
(function () {
  "use strict";
  var place = document.querySelector(".cb-find");
  var list = document.getElementById("cb-list");
  var count = document.getElementById("cb-count");
  var table = window.causebookFacets;
  if (!place || !list || !count || !table || !window.causebookCases) { return; }

  var SHOWN = 100, READ = 10, PAGES = 30;
  var FACETS = [
    ["complaint", "Complaint"], ["root", "Root"], ["helped by", "Helped by"], ["not it", "Suspected, not it"],
    ["found", "Finding present"], ["equipment", "Equipment"], ["outcome", "Outcome"],
    ["make", "Make"], ["model", "Model"], ["code", "Code"], ["technician", "Technician"]
  ];
  var ORDERS = [["newest", "Newest first, or best match"], ["date", "Newest first"], ["oldest", "Oldest first"],
    ["shortest", "Least time first"], ["title", "By title"]];
  var BEFORE = {
    date: function (a, b) { return a - b; },
    oldest: function (a, b) { return b - a; },
    shortest: function (a, b) { return table.minutes[a] - table.minutes[b] || a - b; },
    title: function (a, b) { return table.title[a].localeCompare(table.title[b]); }
  };
  var cases = window.causebookCases(table, ""), make = cases.make;
  var asBuilt = Array.prototype.slice.call(list.childNodes);
  var built = count.textContent;
  var place_ = {};
  table.id.forEach(function (id, i) { place_[id] = i; });

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
  form.appendChild(field("q", "Words, readings or a code", make("input", "", { type: "search", autocomplete: "off" })));
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
  var minutes = make("input", "", { inputmode: "numeric", autocomplete: "off", "aria-describedby": "cb-minutes-wrong" });
  fields.appendChild(field("minutes", "Minutes of work, at most", minutes)).appendChild(make("span", "", { "class": "cb-near-wrong", id: "cb-minutes-wrong" }));
  fields.appendChild(field("order", "Order", choice(ORDERS)));
  fields.appendChild(make("button", "Clear", { type: "reset" }));
  narrowing.appendChild(fields);
  form.appendChild(narrowing);
  place.appendChild(form);
  var danger = make("div", "", { role: "alert" }), readings = make("div", "", { "class": "cb-cases" });
  count.insertAdjacentElement("beforebegin", danger);
  list.insertAdjacentElement("beforebegin", readings);
  var door = window.causebookDoor, text = window.causebookText && location.protocol !== "file:" ? window.causebookText("../") : null;

  function wanted() {
    var want = {};
    Array.prototype.forEach.call(form.elements, function (control) {
      if (control.name && control.value.trim()) { want[control.name] = control.value.trim(); }
    });
    if (want.order === "newest") { delete want.order; }
    var wrong = "minutes" in want && !/^\d+$/.test(want.minutes);
    minutes.setAttribute("aria-invalid", String(wrong));
    minutes.nextSibling.textContent = wrong ? "Write a whole number of minutes." : "";
    if (wrong) { delete want.minutes; }
    return want;
  }
  function passes(want) {
    var facets = FACETS.filter(function (facet) { return want[facet[0]]; }).map(function (facet) {
      return [table[facet[0]], table[facet[0]].words.indexOf(want[facet[0]])];
    });
    var most = parseFloat(want.minutes);
    return function (i) {
      return (!want.year || table.date[i].slice(0, 4) === want.year)
        && (isNaN(most) || table.minutes[i] <= most)
        && facets.every(function (facet) { return facet[0].of[i].indexOf(facet[1]) >= 0; });
    };
  }
  function matches(want) {
    var fits = passes(want), found = [];
    for (var i = 0; i < table.id.length; i += 1) { if (fits(i)) { found.push(i); } }
    if (BEFORE[want.order]) { found.sort(BEFORE[want.order]); }
    return found;
  }
  function draw(items) {
    var entries = make("ul");
    items.forEach(function (entry) { entries.appendChild(entry); });
    var holder = make("div", "", { "class": "cb-cases" });
    holder.appendChild(entries);
    list.replaceChildren(holder);
  }
  function show(found, upTo) {
    draw(found.slice(0, upTo).map(cases.item));
    if (found.length > upTo) {
      more(function () {
        show(found, upTo + SHOWN);
        list.querySelectorAll("li a")[upTo].focus();
      });
    }
  }
  function hit(page) { return page.kind === "case" ? cases.item(place_[page.id]) : door.entry(page); }
  function excerpt(page) {
    var entry = make("li"), words = make("span", "", { "class": "cb-excerpt" });
    entry.appendChild(make("a", page.title, { href: page.url }));
    page.excerpt.forEach(function (piece) {
      words.appendChild(piece.marked ? make("mark", piece.text) : document.createTextNode(piece.text));
    });
    entry.appendChild(words);
    return entry;
  }

  var asked = 0;
  function apply() {
    var want = wanted();
    var query = new URLSearchParams(want).toString(), mine = asked += 1;
    try { history.replaceState(null, "", query ? "?" + query : location.pathname); } catch (refused) { /* from a folder */ }
    danger.replaceChildren();
    readings.replaceChildren();
    if (!query) {
      list.replaceChildren.apply(list, asBuilt);
      count.textContent = built;
      return;
    }
    if (want.q && door) {
      door.seek().then(function (engine) { if (mine === asked) { answer(want, engine.ask(want.q), engine, mine); } }, function () {
        count.textContent = "The search could not be loaded. These are all cases.";
        show(matches(want), SHOWN);
      });
      return;
    }
    var found = matches(want);
    count.textContent = found.length + " of " + table.id.length + " cases" + (found.length ? "" : ". Nothing fits all of that: take one condition away.");
    show(found, SHOWN);
  }
  function answer(want, found, engine, mine) {
    var fits = passes(want), narrowed = want.year || want.minutes || FACETS.some(function (facet) { return want[facet[0]]; });
    var hits = found.hits.filter(function (one) { return one.kind === "case" ? fits(place_[one.id]) : !narrowed; });
    var before = BEFORE[want.order];
    if (before) {
      hits = hits.slice().sort(function (a, b) {
        return (a.kind !== "case") - (b.kind !== "case") || (a.kind === "case" ? before(place_[a.id], place_[b.id]) : 0);
      });
    }
    count.textContent = door.told(Object.assign({}, found, { hits: hits }));
    danger.replaceChildren.apply(danger, found.stops.map(function (id) { return door.stopBox(engine.stops[id][0], engine.stops[id][1]); }));
    pages(hits, PAGES);
    if (text) { textButton(want.q); }
    if (Object.keys(found.typed).length) {
      door.read(found.typed, engine).then(function (near) { if (mine === asked) { readings.replaceChildren(near); } });
    }
  }
  function pages(hits, upTo) {
    draw(hits.slice(0, upTo).map(hit));
    if (hits.length > upTo) {
      more(function () {
        pages(hits, upTo + PAGES);
        list.querySelectorAll("li a")[upTo].focus();
      });
    }
  }
  /* The full text, when somebody wants it: it costs a download. */
  function textButton(words) {
    var row = make("p", "", { "class": "cb-find cb-more" }), button = make("button", "Search the full text too", { type: "button" });
    button.addEventListener("click", function () {
      button.disabled = true;
      text.search(words, READ).then(function (found) {
        var entries = make("ul"), holder = make("div", "", { "class": "cb-cases" });
        found.forEach(function (page) { entries.appendChild(excerpt(page)); });
        holder.appendChild(make("h2", found.length ? "In the full text" : "Not in the full text either"));
        holder.appendChild(entries);
        row.replaceWith(holder);
      }, function () { row.textContent = "The full text cannot be searched here."; });
    });
    row.appendChild(button);
    list.appendChild(row);
  }
  function more(next) {
    var button = make("button", "Show more", { type: "button" }), row = make("p", "", { "class": "cb-find cb-more" });
    button.addEventListener("click", next);
    row.appendChild(button);
    list.appendChild(row);
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
