/* The page of all cases: filters, sorting and words in one form.  Filters work on the facet table (facets.js), from a
   server or from a folder; words go to the best search this page can run (words.js), and to the table until that
   answers.  Without this script, or without the table, the list as built stays and says what it is. */
(function () {
  "use strict";
  var place = document.querySelector(".cb-find");
  var list = document.getElementById("cb-list");
  var count = document.getElementById("cb-count");
  var table = window.causebookFacets;
  if (!place || !list || !count || !table || !window.causebookCases) { return; }

  var SHOWN = 100, READ = 10;
  var FACETS = [
    ["complaint", "Complaint"], ["root", "Root"], ["helped by", "Helped by"], ["not it", "Suspected, not it"],
    ["found", "Finding present"], ["equipment", "Equipment"], ["outcome", "Outcome"]
  ];
  var ORDERS = [["newest", "Newest first, or best match"], ["date", "Newest first"], ["oldest", "Oldest first"],
    ["shortest", "Least time first"], ["title", "By title"]];
  var BEFORE = {
    date: function (a, b) { return a - b; },
    oldest: function (a, b) { return b - a; },
    shortest: function (a, b) { return table.minutes[a] - table.minutes[b] || a - b; },
    title: function (a, b) { return table.title[a].localeCompare(table.title[b]); }
  };
  var SORTS = { date: { date: "desc" }, oldest: { date: "asc" } };
  var BY_TABLE = ["shortest", "title"];  /* the full-text index knows no such order */
  var cases = window.causebookCases(table, ""), make = cases.make;
  var asBuilt = Array.prototype.slice.call(list.childNodes);
  var built = count.textContent;
  var haystack = table.title.map(function (title, i) {
    return [title, table.id[i]].concat(cases.names("root", i), cases.names("helped by", i),
      cases.names("complaint", i), cases.names("found", i)).join(" ").toLowerCase();
  });

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
  form.appendChild(field("q", "Words, in cases and handbook", make("input", "", { type: "search", autocomplete: "off" })));
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
  var note = make("p", "", { "class": "cb-count", id: "cb-searched" });
  count.insertAdjacentElement("afterend", note);
  var searched = "";
  var words = window.causebookWords && window.causebookWords(table, "../", function (sentence) { searched = sentence; note.textContent = sentence; });

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
  /* What was typed, and the same with the trade's other words put into ours. */
  function phrases(typed) {
    var said = " " + typed.toLowerCase().split(/[\s-]+/).join(" ") + " ", ours = said;
    table.synonyms.forEach(function (pair) { ours = ours.split(" " + pair[0] + " ").join(" " + pair[1] + " "); });
    return ours === said ? [typed] : [typed, ours.trim()];
  }
  function matches(want) {
    var fits = passes(want), found = [], asked = phrases(want.q || "").map(function (phrase) {
      return phrase.toLowerCase().split(/\s+/).filter(Boolean);
    });
    for (var i = 0; i < table.id.length; i += 1) {
      if (fits(i) && asked.some(function (terms) {
        return terms.every(function (term) { return haystack[i].indexOf(term) >= 0; });
      })) { found.push(i); }
    }
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
  function hit(page) {
    var entry;
    if (page.i === undefined) {
      entry = make("li");
      entry.appendChild(make("a", page.title, { href: page.url }));
      entry.appendChild(make("span", page.url.indexOf("/causes/") < 0 ? "Handbook" : "Cause", { "class": "cb-line" }));
    } else {
      entry = cases.item(page.i);
    }
    var excerpt = make("span", "", { "class": "cb-excerpt" });
    page.excerpt.forEach(function (piece) {
      excerpt.appendChild(piece.marked ? make("mark", piece.text) : document.createTextNode(piece.text));
    });
    entry.appendChild(excerpt);
    return entry;
  }

  var asked = 0, waiting = 0;
  function apply() {
    var want = wanted();
    var query = new URLSearchParams(want).toString();
    try { history.replaceState(null, "", query ? "?" + query : location.pathname); } catch (refused) { /* from a folder */ }
    asked += 1;
    note.textContent = searched;
    clearTimeout(waiting);
    if (!query) {
      list.replaceChildren.apply(list, asBuilt);
      count.textContent = built;
      return;
    }
    var found = matches(want), inText = want.q && words && BY_TABLE.indexOf(want.order) < 0;
    function settled() {
      count.textContent = found.length + " of " + table.id.length + " cases"
        + (found.length ? "" : ". Nothing fits all of that: take one condition away.");
    }
    if (inText) { count.textContent = "Searching the text…"; } else { settled(); }
    show(found, SHOWN);
    if (want.q && words && !inText) {
      note.textContent = "In this order only titles, roots and findings are searched.";
    } else if (inText) { waiting = setTimeout(read, 120, want, asked, READ, settled); }
  }
  /* The text of the pages, when the words have rested for a moment; an answer that comes too late is dropped. */
  function read(want, mine, most, none) {
    var filters = {}, fits = passes(want), narrowed = Boolean(want.year || want.minutes);
    FACETS.forEach(function (facet) {
      if (want[facet[0]]) { filters[facet[0]] = want[facet[0]]; narrowed = true; }
    });
    if (want.year) { filters.year = want.year; }
    var fitting = function (page) { return page.i === undefined ? !narrowed : fits(page.i); };
    var before = BEFORE[want.order] && function (a, b) {
      return a.i === undefined || b.i === undefined ? (a.i === undefined) - (b.i === undefined) : BEFORE[want.order](a.i, b.i);
    };
    words.search(phrases(want.q), { filters: filters, sort: SORTS[want.order], fits: fitting, before: before, most: most }).then(function (answer) {
      if (mine !== asked) { return; }
      var pages = answer ? answer.pages.filter(fitting) : [];
      if (!pages.length) {
        none();
        return;
      }
      var left = Math.max(0, answer.count - answer.pages.length);
      count.textContent = pages.length + left + (pages.length + left === 1 ? " page has" : " pages have") + " these words"
        + (left ? "; the first " + pages.length + " stand here" : "") + ".";
      draw(pages.map(hit));
      if (left) {
        more(function () { read(want, mine, most + READ, none); });
      }
    });
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
  form.addEventListener("focusin", function () { if (words) { words.start(); } }, { once: true });
  form.addEventListener("input", apply);
  form.addEventListener("submit", function (event) { event.preventDefault(); apply(); });
  form.addEventListener("reset", function () { setTimeout(apply, 0); });
  apply();
})();
