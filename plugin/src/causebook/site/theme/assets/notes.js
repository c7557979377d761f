/* The page of job notes: all of them in one table, narrowed down by words, complaint, part and year. */
(function () {
  "use strict";
  var place = document.querySelector(".cb-notes"), table = window.causebookNotes, SHOWN = 100;
  if (!place || !table) { return; }

  function make(tag, text, attributes) {
    var element = document.createElement(tag);
    if (text) { element.textContent = text; }
    Object.keys(attributes || {}).forEach(function (name) { element.setAttribute(name, attributes[name]); });
    return element;
  }
  var form = make("form", "", { "class": "cb-find", role: "search", "aria-label": "Find among the job notes" }), controls = {};
  function field(name, label, control) {
    var holder = form.appendChild(make("div"));
    control.id = "cb-n-" + name;
    holder.appendChild(make("label", label, { "for": control.id }));
    holder.appendChild(control);
    control.addEventListener("input", apply);
    controls[name] = control;
  }
  function choice(words) {
    var select = make("select");
    select.appendChild(make("option", "all", { value: "" }));
    words.forEach(function (word, n) { select.appendChild(make("option", word, { value: n })); });
    return select;
  }
  var years = Array.from(new Set(table.date.map(function (date) { return date.slice(0, 4); }).filter(Boolean)));
  var haystack = table.id.map(function (id, i) {
    return (" " + [id, table.complaint[i], table.words[i], table.done[i], table.parts[i], table.make[i], table.model[i],
      table.family[i] >= 0 ? table.families[table.family[i]] : ""].concat(table.part[i].map(function (n) { return table.partNames[n]; })).join(" ")).toLowerCase();
  });
  /* What was typed, and what the trade also says for it: either is a hit. */
  function ways(word) {
    return [word].concat(table.synonyms.filter(function (pair) { return pair[0] === word; }).map(function (pair) { return pair[1].toLowerCase(); }));
  }
  field("words", "Words: a model, a part, what was wrong", make("input", "", { type: "search", autocomplete: "off" }));
  field("family", "Complaint", choice(table.families));
  field("part", "Part", choice(table.partNames));
  field("year", "Year", choice(years));
  var status = make("p", "", { "class": "cb-count", role: "status" }), holder = make("div", "", { "class": "cb-notes-list", tabindex: "0", role: "region", "aria-label": "Job notes" });
  form.addEventListener("submit", function (event) { event.preventDefault(); });

  function apply() {
    var words = controls.words.value.toLowerCase().split(/\s+/).filter(Boolean).map(ways);
    var family = controls.family.value, part = controls.part.value, year = controls.year.value === "" ? "" : years[controls.year.value];
    var found = table.id.map(function (_, i) { return i; }).filter(function (i) {
      return (family === "" || table.family[i] === Number(family)) && (part === "" || table.part[i].indexOf(Number(part)) >= 0)
        && (!year || table.date[i].slice(0, 4) === year)
        && words.every(function (any) { return any.some(function (word) { return haystack[i].indexOf(word) >= 0; }); });
    });
    status.textContent = found.length + " of " + table.id.length + " notes" + (found.length > SHOWN ? ", the newest " + SHOWN + " shown" : "") + ".";
    var list = make("table"), head = list.appendChild(make("thead")).appendChild(make("tr")), body = list.appendChild(make("tbody"));
    ["Date", "Equipment", "Complaint", "Done", "Parts", "Note"].forEach(function (name) { head.appendChild(make("th", name, { scope: "col" })); });
    found.slice(0, SHOWN).forEach(function (i) {
      var row = body.appendChild(make("tr"));
      [table.date[i], (table.make[i] + " " + table.model[i]).trim(), [table.complaint[i], table.words[i]].filter(Boolean).join(". "), table.done[i], table.parts[i], table.id[i]]
        .forEach(function (text) { row.appendChild(make("td", text)); });
    });
    holder.replaceChildren(list);
  }
  place.replaceChildren(form, status, holder);
  apply();
})();
