/* The page "by readings": type what was read, tick what was seen, and the nearest past cases stand below.
   What was typed stands in the address, so that going back, or handing the address on, brings it again. */
(function () {
  "use strict";
  var place = document.querySelector(".cb-near");
  var table = window.causebookFacets, index = window.causebookFindings;
  if (!place) { return; }
  if (!table || !index || !window.causebookNearness) {
    place.textContent = "The index of findings could not be loaded. Find a case by words or by complaint instead.";
    return;
  }
  var NEAREST = 5;
  var cases = window.causebookCases(table, "../cases/"), make = cases.make;
  var near = window.causebookNearness(index, table.id);
  var si = document.documentElement.dataset.cbUnits === "si";
  var state = { family: "", facts: {}, read: {}, seen: {} };
  var form = make("form", "", { "class": "cb-find cb-near-ask", "aria-label": "What you know", autocomplete: "off" });
  var result = make("section", "", { "class": "cb-near-found", id: "cb-nearest", tabindex: "-1", "aria-label": "Nearest cases" });
  var answered = make("div", "", { "class": "cb-near-answered" });
  var status = make("p", "", { "class": "cb-count", role: "status" });

  /* ---- the form */

  function fold(title, open, inside) {
    var details = make("details"), set = make("fieldset");
    details.appendChild(make("summary", title));
    set.appendChild(make("legend", title, { "class": "cb-hidden" }));
    inside.forEach(function (element) { set.appendChild(element); });
    details.appendChild(set);
    details.open = open;
    return details;
  }
  function field(id, label, controls) {
    var holder = make("div");
    controls[0].id = "cb-r-" + id;
    holder.appendChild(make("label", label, { "for": controls[0].id }));
    var row = make("span", "", { "class": "cb-near-number" });
    controls.forEach(function (control) { row.appendChild(control); });
    holder.appendChild(row);
    return holder;
  }
  function choice(id, label, options, chosen, set) {
    var select = make("select");
    options.forEach(function (option) { select.appendChild(make("option", option[1], { value: option[0] })); });
    select.value = chosen;
    select.addEventListener("change", function () { set(select.value); apply(); });
    return field(id, label, [select]);
  }
  function number(ask) {
    var input = make("input", "", { inputmode: "decimal", type: "text" });
    var kept = state.read[ask.id];
    var unit = ask.units.length > 1 ? make("select", "", { "aria-label": "Unit of " + ask.name }) : make("span", ask.units[0][0]);
    if (ask.units.length > 1) {
      ask.units.forEach(function (one, n) { unit.appendChild(make("option", one[0], { value: n })); });
      unit.value = kept ? kept.unit : si ? 1 : 0;
    }
    if (kept) { input.value = kept.text; }
    function set() {
      var text = input.value.trim().replace(/−/g, "-").replace(/,(?=\d{3}\b)/g, "").replace(",", "."), value = Number(text);
      var wrong = text !== "" && !isFinite(value);
      input.setAttribute("aria-invalid", String(wrong));
      if (text === "" || wrong) { delete state.read[ask.id]; } else { state.read[ask.id] = { text: text, unit: Number(unit.value || 0) }; }
      apply();
    }
    input.addEventListener("input", set);
    if (ask.units.length > 1) { unit.addEventListener("change", set); }
    var holder = field(ask.id, ask.name, [input, unit]);
    if (ask.where) {
      holder.appendChild(make("span", ask.where, { "class": "cb-near-where", id: "cb-w-" + ask.id }));
      input.setAttribute("aria-describedby", "cb-w-" + ask.id);
    }
    return holder;
  }
  function finding(id) {
    var row = make("div", "", { "class": "cb-near-row", role: "group", "aria-label": index.findings[id][0], "data-finding": id });
    row.appendChild(make("span", index.findings[id][0]));
    var pair = row.appendChild(make("span", "", { "class": "cb-near-two" }));
    var buttons = [[true, "seen"], [false, "ruled out"]].map(function (answer) {
      var button = make("button", answer[1], { type: "button", "aria-pressed": String(state.seen[id] === answer[0]) });
      button.addEventListener("click", function () {
        if (state.seen[id] === answer[0]) { delete state.seen[id]; } else { state.seen[id] = answer[0]; }
        document.querySelectorAll('[data-finding="' + id + '"]').forEach(function (other) { other.cbDraw(); });
        apply();
      });
      pair.appendChild(button);
      return [button, answer[0]];
    });
    row.cbDraw = function () {
      buttons.forEach(function (pair) { pair[0].setAttribute("aria-pressed", String(state.seen[id] === pair[1])); });
    };
    return row;
  }
  function build() {
    form.replaceChildren();
    var begin = make("fieldset");
    begin.appendChild(make("legend", "The call", { "class": "cb-hidden" }));
    begin.appendChild(choice("family", "Complaint", [["", "not said"]].concat(Object.keys(index.families).map(function (id) {
      return [id, index.families[id]];
    })), state.family, function (value) { state.family = value; }));
    form.appendChild(begin);
    var groups = {};
    index.asks.forEach(function (ask) { (groups[ask.group] = groups[ask.group] || []).push(ask); });
    Object.keys(groups).forEach(function (group, n) {
      var used = groups[group].some(function (ask) { return state.read[ask.id]; });
      form.appendChild(fold(group, n === 0 || used, groups[group].map(number)));
    });
    var facts = {};
    index.pairs.forEach(function (pair) {
      if (pair[0].indexOf("fact ") === 0) { (facts[pair[0].slice(5)] = facts[pair[0].slice(5)] || []).push(pair[1]); }
    });
    form.appendChild(fold("Equipment", Object.keys(state.facts).length > 0, Object.keys(facts).map(function (name) {
      return choice("fact-" + name.replace(/ /g, "-"), name.charAt(0).toUpperCase() + name.slice(1),
        [["", "not said"]].concat(facts[name].map(function (value) { return [value, value]; })), state.facts[name] || "",
        function (value) { if (value) { state.facts[name] = value; } else { delete state.facts[name]; } });
    })));
    form.appendChild(make("h2", "Seen, or ruled out"));
    var search = make("input", "", { type: "search" });
    form.appendChild(answered);
    form.appendChild(field("look", "Look for a finding", [search]));
    var all = make("details"), holder = make("div");
    all.appendChild(make("summary", "All findings, by the test that shows them"));
    all.appendChild(holder);
    form.appendChild(all);
    var folds = index.tests.map(function (test) {
      var details = fold(test[0], false, test[1].map(finding));
      details.querySelector("fieldset").className = "cb-near-list";
      holder.appendChild(details);
      return details;
    });
    search.addEventListener("input", function () {
      var words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
      folds.forEach(function (details) {
        var any = false;
        details.querySelectorAll(".cb-near-row").forEach(function (row) {
          var fits = words.every(function (word) { return row.getAttribute("aria-label").toLowerCase().indexOf(word) >= 0; });
          row.hidden = !fits;
          any = any || fits;
        });
        details.hidden = !any;
        details.open = words.length > 0 && any;
      });
      all.open = words.length > 0;
    });
    var row = make("p");
    var clear = make("button", "Clear", { type: "button" });
    clear.addEventListener("click", function () {
      state = { family: "", facts: {}, read: {}, seen: {} };
      build();
      apply();
      form.querySelector("select").focus();
    });
    row.appendChild(clear);
    form.appendChild(row);
  }

  /* ---- the address */

  function toAddress() {
    var query = new URLSearchParams();
    if (state.family) { query.set("family", state.family); }
    Object.keys(state.facts).forEach(function (name) { query.set("fact." + name, state.facts[name]); });
    Object.keys(state.read).forEach(function (id) { query.set("read." + id, state.read[id].text + "~" + state.read[id].unit); });
    Object.keys(state.seen).forEach(function (id) { query.append(state.seen[id] ? "seen" : "out", id); });
    try { history.replaceState(null, "", query.toString() ? "?" + query : location.pathname); } catch (refused) { /* from a folder */ }
  }
  function fromAddress() {
    new URLSearchParams(location.search).forEach(function (value, name) {
      if (name === "family" && value in index.families) { state.family = value; }
      if (name.indexOf("fact.") === 0) { state.facts[name.slice(5)] = value; }
      if (name.indexOf("read.") === 0 && near.asks[name.slice(5)]) {
        var parts = value.split("~");
        if (isFinite(Number(parts[0])) && near.asks[name.slice(5)].units[Number(parts[1] || 0)]) {
          state.read[name.slice(5)] = { text: parts[0], unit: Number(parts[1] || 0) };
        }
      }
      if ((name === "seen" || name === "out") && value in index.findings) { state.seen[value] = name === "seen"; }
    });
  }

  /* ---- the answer */

  function named(feature, same, there) {
    if (feature === "complaint") { return "complaint"; }
    if (feature.indexOf("finding ") !== 0) { return feature.slice(5); }
    var present = there[feature] === "present";
    return (index.findings[feature.slice(8)] || [feature])[0]
      + (same ? (present ? "" : " (in neither)") : present ? " (only there)" : " (only here)");
  }
  function sentence(label, features, same, there) {
    if (!features.length) { return ""; }
    var most = features.slice(0, 4).map(function (feature) { return named(feature, same, there); }).join("; ");
    return label + ": " + most + (features.length > 4 ? "; and " + (features.length - 4) + " more" : "") + ". ";
  }
  function shown(id, value) {
    var unit = near.asks[id].units[state.read[id] ? state.read[id].unit : 0];
    return ((value - unit[2]) / unit[1]).toFixed(unit[3]).replace("-", "−") + (unit[0] ? " " + unit[0] : "");
  }
  function beside(found, typed) {
    var both = Object.keys(typed).map(function (id) { return [id, near.read(id, found.i)]; })
      .filter(function (pair) { return pair[1] !== undefined; });
    if (!both.length) { return ""; }
    return "Read then: " + both.map(function (pair) {
      return near.asks[pair[0]].name.toLowerCase() + " " + shown(pair[0], pair[1]) + " (yours " + shown(pair[0], typed[pair[0]]) + ")";
    }).join("; ") + ". ";
  }
  function item(found, typed) {
    var entry = cases.item(found.i), there = near.features(found.i);
    var text = make("span", "", { "class": "cb-near-why" });
    [sentence("The same", found.same, true, there), sentence("Different", found.differ, false, there), beside(found, typed)].filter(Boolean)
      .forEach(function (part) { text.appendChild(make("span", part)); });
    if (!found.same.length && !found.differ.length) { text.appendChild(make("span", "Nothing of yours was looked for there.")); }
    entry.appendChild(text);
    return entry;
  }
  function listed(items) {
    var holder = make("div", "", { "class": "cb-cases" }), list = make("ul");
    items.forEach(function (entry) { list.appendChild(entry); });
    holder.appendChild(list);
    return holder;
  }
  function says(findings) {
    var judged = Object.keys(findings).filter(function (id) { return !(id in state.seen) && index.findings[id]; });
    var undecided = Object.keys(state.read).length && !judged.length;
    if (undecided) { return make("p", "Your numbers decide no finding yet: most need their fellow, or a value of the rating plate to be held against."); }
    return judged.length ? make("p", "Your numbers say: " + judged.map(function (id) {
      return index.findings[id][0] + (findings[id] ? "" : " (no)");
    }).join("; ") + ".") : null;
  }
  function next(found) {
    var box = make("div", "", { "class": "cb-near-next" });
    box.appendChild(make("h2", "Look at this next"));
    var p = make("p", "To tell the nearest two with different roots apart: ");
    p.appendChild(cases.link(found.between[0]));
    p.appendChild(document.createTextNode(" (" + cases.names("root", found.between[0]).join(", ") + ") and "));
    p.appendChild(cases.link(found.between[1]));
    p.appendChild(document.createTextNode(" (" + cases.names("root", found.between[1]).join(", ") + ")."));
    box.appendChild(p);
    if (!found.apart.length) {
      box.appendChild(make("p", "Nothing that is not yet answered here sets them apart; read both."));
    }
    found.apart.forEach(function (apart) {
      var of = index.findings[apart.finding];
      var row = finding(apart.finding);
      row.appendChild(make("span", (of[1] ? of[1] + ". " : "") + of[2] + " min. When present it speaks for "
        + cases.names("root", apart.speaksFor).join(", ") + (apart.seen ? ": so it was in these two cases." : ": so the causes usually show it."),
        { "class": "cb-near-where" }));
      box.appendChild(row);
    });
    return box;
  }
  /* What was ticked stands above the list too, where it can be taken back. */
  function recall() {
    var ids = Object.keys(state.seen).sort().filter(function (id) { return index.findings[id]; });
    if (ids.join() === answered.dataset.ids) { return; }
    var within = answered.contains(document.activeElement);
    answered.dataset.ids = ids.join();
    answered.replaceChildren.apply(answered, ids.map(finding));
    if (within) { document.getElementById("cb-r-look").focus(); }
  }
  function apply() {
    toAddress();
    recall();
    var typed = {};
    Object.keys(state.read).forEach(function (id) {
      var unit = near.asks[id].units[state.read[id].unit];
      typed[id] = unit[1] * Number(state.read[id].text) + unit[2];
    });
    var found = near.find({ family: state.family, facts: state.facts, seen: state.seen, typed: typed }, NEAREST);
    var said = Object.keys(found.findings).length + (state.family ? 1 : 0) + Object.keys(state.facts).length;
    result.replaceChildren();
    var judged = says(found.findings);
    if (judged) { result.appendChild(judged); }
    if (!said) {
      status.textContent = "Nothing to go by yet; " + table.id.length + " cases stand ready.";
      bar.lastChild.hidden = true;
      return;
    }
    status.textContent = found.like.length ? "The nearest " + found.like.length + " of " + table.id.length + " cases."
      : "None of the " + table.id.length + " cases is near to that.";
    bar.lastChild.hidden = !found.like.length;
    if (!found.like.length) { return; }
    var heading = make("h2", "Nearest cases");
    result.appendChild(heading);
    result.appendChild(listed(found.like.map(function (one) { return item(one, typed); })));
    if (found.other) {
      result.appendChild(make("h2", "Nearest with another root"));
      result.appendChild(listed([item(found.other, typed)]));
      result.appendChild(next(found));
    }
  }

  fromAddress();
  build();
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  var bar = make("div", "", { "class": "cb-near-bar" }), side = make("div", "", { "class": "cb-near-side" });
  bar.appendChild(status);
  bar.appendChild(make("a", "See them", { href: "#cb-nearest" }));
  side.appendChild(bar);
  side.appendChild(result);
  place.replaceChildren(form, side);
  apply();
})();
