/* The page "by readings": type what was read, tick what was seen, and the nearest past cases stand below.
   What was typed stands in the address, so that going back, or handing the address on, brings it again. */
(function () {
  "use strict";
  var place = document.querySelector(".cb-near");
  var table = window.causebookFacets, index = window.causebookFindings;
  if (!place) { return; }
  if (!table || !index || !window.causebookNearness) {
    place.textContent = "The readings could not be loaded. Search by words, or start from a complaint.";
    return;
  }
  var NEAREST = window.matchMedia("(min-width: 60em)").matches ? 5 : 3;
  var FIRST = ["rise", "external-static", "limit-opened-at"], PLATE = "Rating plate";
  var cases = window.causebookCases(table, "../cases/"), make = cases.make;
  var near = window.causebookNearness(index, table.id);
  var si = document.documentElement.dataset.cbUnits === "si";
  var firsts = Array.prototype.slice.call(place.querySelectorAll(".cb-near-first"));
  var state = { family: "", code: "", facts: {}, read: {}, seen: {} };
  var danger = make("section", "", { id: "cb-danger", role: "alert", tabindex: "-1" });
  var form = make("form", "", { "class": "cb-find cb-near-ask", "aria-label": "What you know", autocomplete: "off" });
  var first = make("div", "", { "class": "cb-near-top" }), more = make("div", "", { "class": "cb-near-more" });
  var result = make("section", "", { "class": "cb-near-found", id: "cb-nearest", tabindex: "-1", "aria-label": "Nearest cases" });
  var answered = make("div", "", { "class": "cb-near-answered" });
  var status = make("p", "", { "class": "cb-count", role: "status" });

  /* The plate values that each reading is held against: they are asked for beside it, once it stands there. */
  var platesOf = {}, readingsOf = {};
  index.lines.forEach(function (line) {
    var ids = Object.keys(line.terms), plates = ids.filter(function (id) { return near.asks[id].group === PLATE; });
    var read = ids.filter(function (id) { return plates.indexOf(id) < 0; });
    plates.forEach(function (plate) {
      if (!readingsOf[plate]) { (platesOf[read[0]] = platesOf[read[0]] || []).push(plate); }
      readingsOf[plate] = (readingsOf[plate] || []).concat(read);
    });
  });

  /* ---- the form */

  var asked = {};  /* of each plate value the field beside its reading */
  var judged = {};  /* of each number its field's function that says what is wrong with it */

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
  /* What was typed: its number and the unit it says or has chosen, or what is wrong with it.  A comma is a decimal
     sign, but between groups of three digits where there can be thousands. */
  function understood(text, ask, unit) {
    var found = /^([-+]?[\d.,]*\d\.?)\s*(.*)$/.exec(text.trim().replace(/−/g, "-")), units = ask.units;
    var asked = units.map(function (one) { return one[0]; }).join(" or ");
    if (!found) { return { wrong: "Not a number." }; }
    var spelled = plain(found[2]), said = units.findIndex(function (one) { return plain(one[0]) === spelled || one[4].indexOf(spelled) >= 0; });
    if (spelled && said < 0) { return { wrong: "Only a number with " + asked + " is understood here." }; }
    unit = spelled ? said : unit;
    var thousands = ask.high === null || (ask.high - units[unit][2]) / units[unit][1] >= 1000;
    var number = thousands && /^[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?$/.test(found[1]) ? found[1].replace(/,/g, "") : found[1].replace(",", ".");
    if (!/^[-+]?\d*\.?\d+$/.test(number.replace(/\.$/, ""))) { return { wrong: "Not a number." }; }
    return { unit: unit, value: units[unit][1] * Number(number) + units[unit][2] };
  }
  function plain(unit) { return unit.toLowerCase().replace(/[µμ]/g, "u").replace(/[^a-z0-9%]/g, ""); }
  function unfit(ask, never) {
    var unit = state.read[ask.id].unit;
    if (never) { return ask.name + " lies below " + small(near.asks[never[1]].name) + ": " + never[2] + "."; }
    return "Can only be " + (ask.above ? "above " : "") + written(ask, ask.low, unit) + (ask.high === null ? " or more." : " to " + written(ask, ask.high, unit) + ".");
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
      var said = understood(input.value, ask, Number(unit.value || 0));
      if (said.unit !== undefined && ask.units.length > 1) { unit.value = said.unit; }
      if (input.value.trim() === "") { delete state.read[ask.id]; } else { state.read[ask.id] = { text: input.value.trim(), unit: Number(unit.value || 0) }; }
      apply();
    }
    input.addEventListener("input", set);
    if (ask.units.length > 1) { unit.addEventListener("change", set); }
    var holder = field(ask.id, ask.name + (ask.sense < 0 ? ", suction" : ""), [input, unit]);
    var signs = { "-1": "With or without its minus, it is taken as below the room.", "1": "Only the size counts, not the sign." };
    var where = [ask.where, signs[ask.sense]].filter(Boolean).join(". ");
    var wrong = holder.appendChild(make("span", "", { "class": "cb-near-wrong", id: "cb-e-" + ask.id }));
    if (where) { holder.appendChild(make("span", where, { "class": "cb-near-where", id: "cb-w-" + ask.id })); }
    input.setAttribute("aria-describedby", wrong.id + (where ? " cb-w-" + ask.id : ""));
    (platesOf[ask.id] || []).forEach(function (id) {
      var beside = holder.appendChild(number(near.asks[id]));
      beside.className = "cb-near-plate";
      beside.querySelector("label").textContent = "Plate: " + small(near.asks[id].name.replace(/^Plate /, ""));
      asked[id] = beside;
    });
    judged[ask.id] = function (sentence) {
      wrong.textContent = sentence;
      input.setAttribute("aria-invalid", String(Boolean(sentence)));
    };
    return holder;
  }
  /* What the board said, as the technician reads it; cases are found by it letter for letter. */
  function coded() {
    var input = make("input", "", { type: "text", placeholder: "33, 4 flashes, E1" });
    input.value = state.code;
    input.addEventListener("input", function () { state.code = input.value.trim(); apply(); });
    return field("code", "Code on the board", [input]);
  }
  function withCode() {
    var bare = function (text) { return text.toLowerCase().replace(/\b(code|error|fault|flash(es)?|blinks?)\b|[^a-z0-9]/g, ""); };
    var box = make("section"), fits = table.id.map(function (id, i) { return i; }).filter(function (i) {
      return cases.names("code", i).some(function (code) { return bare(code) === bare(state.code); });
    });
    box.appendChild(make("h2", fits.length ? "Cases with code " + state.code : "No case here has code " + state.code));
    if (fits.length) { box.appendChild(listed(fits.map(cases.item))); }
    var p = box.appendChild(make("p", "The list on the furnace door says what it means. "));
    p.appendChild(make("a", "Search all pages for this code", { href: "../cases/index.html?q=" + encodeURIComponent("code " + state.code) }));
    return box;
  }
  function finding(id) {
    var row = make("div", "", { "class": "cb-near-row", role: "group", tabindex: "-1", "aria-label": index.findings[id][0], "data-finding": id });
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
    first.replaceChildren();
    more.replaceChildren();
    var begin = make("fieldset");
    begin.appendChild(make("legend", "The call", { "class": "cb-hidden" }));
    begin.appendChild(choice("family", "Complaint", [["", "not said"]].concat(Object.keys(index.families).map(function (id) {
      return [id, index.families[id]];
    })), state.family, function (value) { state.family = value; }));
    begin.appendChild(coded());
    FIRST.forEach(function (id) { begin.appendChild(number(near.asks[id])); });
    first.appendChild(begin);
    var groups = {};
    index.asks.forEach(function (ask) {
      if (FIRST.indexOf(ask.id) < 0 && ask.group !== PLATE) { (groups[ask.group] = groups[ask.group] || []).push(ask); }
    });
    Object.keys(groups).forEach(function (group) {
      var used = groups[group].some(function (ask) { return state.read[ask.id]; });
      more.appendChild(fold(group, used, groups[group].map(number)));
    });
    var facts = {};
    index.pairs.forEach(function (pair) {
      if (pair[0].indexOf("fact ") === 0) { (facts[pair[0].slice(5)] = facts[pair[0].slice(5)] || []).push(pair[1]); }
    });
    more.appendChild(fold("Equipment", Object.keys(state.facts).length > 0, Object.keys(facts).map(function (name) {
      return choice("fact-" + name.replace(/ /g, "-"), name.charAt(0).toUpperCase() + name.slice(1),
        [["", "not said"]].concat(facts[name].map(function (value) { return [value, value]; })), state.facts[name] || "",
        function (value) { if (value) { state.facts[name] = value; } else { delete state.facts[name]; } });
    })));
    more.appendChild(make("h2", "Seen, or ruled out"));
    var search = make("input", "", { type: "search" });
    more.appendChild(answered);
    more.appendChild(field("look", "Look for a finding", [search]));
    var all = make("details"), holder = make("div");
    all.appendChild(make("summary", "All findings, by the test that shows them"));
    var none = holder.appendChild(make("p", "No finding has these words.", { role: "status" }));
    none.hidden = true;
    all.appendChild(holder);
    more.appendChild(all);
    var folds = index.tests.map(function (test) {
      var details = fold(test[0], false, test[1].map(finding));
      details.querySelector("fieldset").className = "cb-near-list";
      holder.appendChild(details);
      return details;
    });
    search.addEventListener("input", function () {
      var words = search.value.toLowerCase().replace(/-/g, "").split(/\s+/).filter(Boolean), found = false;
      folds.forEach(function (details) {
        var any = false;
        details.querySelectorAll(".cb-near-row").forEach(function (row) {
          var fits = words.every(function (word) { return row.getAttribute("aria-label").toLowerCase().replace(/-/g, "").indexOf(word) >= 0; });
          row.hidden = !fits;
          any = any || fits;
        });
        details.hidden = !any;
        details.open = words.length > 0 && any;
        found = found || any;
      });
      none.hidden = found;
      all.open = words.length > 0;
    });
    var row = make("p");
    var clear = make("button", "Clear", { type: "button" });
    clear.addEventListener("click", function () {
      state = { family: "", code: "", facts: {}, read: {}, seen: {} };
      build();
      apply();
      first.querySelector("select").focus();
    });
    row.appendChild(clear);
    more.appendChild(row);
  }

  /* ---- the address */

  function toAddress() {
    var query = new URLSearchParams();
    if (state.family) { query.set("family", state.family); }
    if (state.code) { query.set("code", state.code); }
    Object.keys(state.facts).forEach(function (name) { query.set("fact." + name, state.facts[name]); });
    Object.keys(state.read).forEach(function (id) { query.set("read." + id, state.read[id].text + "~" + state.read[id].unit); });
    Object.keys(state.seen).forEach(function (id) { query.append(state.seen[id] ? "seen" : "out", id); });
    try { history.replaceState(null, "", query.toString() ? "?" + query : location.pathname); } catch (refused) { /* from a folder */ }
  }
  function fromAddress() {
    new URLSearchParams(location.search).forEach(function (value, name) {
      if (name === "family" && value in index.families) { state.family = value; }
      if (name === "code") { state.code = value.trim(); }
      if (name.indexOf("fact.") === 0) { state.facts[name.slice(5)] = value; }
      if (name.indexOf("read.") === 0 && near.asks[name.slice(5)]) {
        var parts = value.split("~");
        if (near.asks[name.slice(5)].units[Number(parts[1] || 0)]) {
          state.read[name.slice(5)] = { text: parts[0], unit: Number(parts[1] || 0) };
        }
      }
      if ((name === "seen" || name === "out") && value in index.findings) { state.seen[value] = name === "seen"; }
    });
  }

  /* ---- the answer */

  /* The same words as in_words() of library/like.py. */
  function named(feature, here, there) {
    var id = feature.slice(feature.indexOf(" ") + 1), same = here[feature] === there[feature];
    if (feature.indexOf("finding ") === 0) {
      var name = (index.findings[id] || [id])[0], present = there[feature] === "present";
      return same ? (present ? "" : "in neither: ") + name : name + (present ? " (that case)" : " (yours)");
    }
    var said = [there, here].map(function (one) { return index.families[one[feature]] || one[feature]; });
    return id + ": " + (same ? said[0] : "there " + said[0] + ", here " + said[1]);
  }
  function sentence(label, features, here, there) {
    if (!features.length) { return ""; }
    var most = features.slice(0, 4).map(function (feature) { return named(feature, here, there); }).join("; ");
    return label + ": " + most + (features.length > 4 ? "; and " + (features.length - 4) + " more" : "") + ". ";
  }
  /* A name within a sentence: its first letter small, unless it begins with an abbreviation. */
  function small(name) { return /^.[a-z]/.test(name) ? name.charAt(0).toLowerCase() + name.slice(1) : name; }
  function written(ask, value, n) {
    var unit = ask.units[n];
    return ((value - unit[2]) / unit[1]).toFixed(unit[3]).replace("-", "−") + (unit[0] ? " " + unit[0] : "");
  }
  function shown(id, value) { return written(near.asks[id], value, state.read[id] ? state.read[id].unit : 0); }
  function beside(found, typed) {
    var both = Object.keys(typed).map(function (id) { return [id, near.read(id, found.i)]; })
      .filter(function (pair) { return pair[1] !== undefined; });
    if (!both.length) { return ""; }
    return "Read then: " + both.map(function (pair) {
      return small(near.asks[pair[0]].name) + " " + shown(pair[0], pair[1]) + " (yours " + shown(pair[0], near.meant(pair[0], typed[pair[0]])) + ")";
    }).join("; ") + ". ";
  }
  function item(one, typed, found) {
    var entry = cases.item(one.i), there = near.features(one.i), text = make("span", "", { "class": "cb-near-why" });
    var other = found.other && found.other.i === one.i ? ", the nearest with another cause" : "";
    [one.word.charAt(0).toUpperCase() + one.word.slice(1) + other + ". ", sentence("The same", one.same, found.known, there),
      sentence("Different", one.differ, found.known, there), beside(one, typed)].filter(Boolean)
      .forEach(function (part) { text.appendChild(make("span", part)); });
    entry.appendChild(text);
    return entry;
  }
  function listed(items) {
    var holder = make("div", "", { "class": "cb-cases" }), list = make("ul");
    items.forEach(function (entry) { list.appendChild(entry); });
    holder.appendChild(list);
    return holder;
  }
  function said(found, typed) {
    var sentences = [], judged = Object.keys(found.findings).filter(function (id) {
      return found.findings[id] && !(id in state.seen) && index.findings[id];
    });
    var onUsual = judged.filter(function (id) { return found.assumed.indexOf(id) >= 0; });
    var sure = judged.filter(function (id) { return onUsual.indexOf(id) < 0; });
    function names(ids) { return ids.map(function (id) { return index.findings[id][0]; }).join("; "); }
    if (sure.length) { sentences.push("Your numbers say: " + names(sure)); }
    if (onUsual.length) {
      sentences.push("On a usual plate: " + names(onUsual));
      found.plates.forEach(function (plate) {
        var judges = index.lines.some(function (line) { return plate.ask in line.terms && onUsual.indexOf(line.finding) >= 0; });
        if (judges) { sentences.push(plate.says + ". Enter yours under the reading"); }
      });
    }
    found.contradicts.forEach(function (one) { sentences.push(one.says); });
    unjudged(typed, found).forEach(function (pair) {
      sentences.push("Can't judge " + small(near.asks[pair[0]].name) + " without the plate's " + small(near.asks[pair[1]].name) + ". Enter it under the reading");
    });
    sentences = sentences.concat(near.remarks(typed));
    return sentences.length ? make("p", sentences.join(". ") + ".") : null;
  }
  /* Readings that wait for a value of the plate, for which no usual one stands in. */
  function unjudged(typed, found) {
    var pairs = [];
    Object.keys(platesOf).forEach(function (id) {
      var missing = platesOf[id].filter(function (plate) {
        return !(plate in typed) && !found.plates.some(function (one) { return one.ask === plate; });
      });
      var spoken = index.lines.some(function (line) { return id in line.terms && line.finding in found.findings; });
      if (id in typed && missing.length && !spoken) { pairs.push([id, missing[0]]); }
    });
    return pairs;
  }
  /* The stops, told once and not again at each key. */
  function stopped(stops, warnings, typed) {
    var told = JSON.stringify([stops, warnings]);
    if (danger.dataset.told !== told) {
      danger.dataset.told = told;
      danger.replaceChildren.apply(danger, stops.map(function (pair) {
        var stop = pair[0], way = pair[1], box = make("div", "", { "class": "cb-stop cb-stop-open" });
        box.appendChild(make("p")).appendChild(make("strong", "Stop use: " + stop.name));
        box.appendChild(make("p", "Because: " + (way.finding ? index.findings[way.finding][0] : near.asks[way.reading].name + " " + shown(way.reading, typed[way.reading])) + "."));
        box.appendChild(make("p", stop.do));
        if (stop.technician) { box.appendChild(make("p", "Technician: " + stop.technician)); }
        ["Who may confirm it", "Meanwhile", "What ends it"].forEach(function (label, n) {
          box.appendChild(make("p", label + ": " + stop.wayOn[n]));
        });
        return box;
      }).concat(warnings.map(function (one) {
        var box = make("div", "", { "class": "cb-stop cb-stop-open" });
        box.appendChild(make("p")).appendChild(make("strong", "Warning: " + small(near.asks[one.ask].name) + " " + shown(one.ask, typed[one.ask])));
        box.appendChild(make("p", one.says));
        return box;
      })));
    }
    halt.hidden = !stops.length && !warnings.length;
    halt.textContent = stops.length ? "Stop use: " + stops.map(function (pair) { return pair[0].name; }).join("; ")
      : warnings.length ? "Warning: " + warnings.map(function (one) { return near.asks[one.ask].name; }).join("; ") : "";
  }
  function next(found) {
    var box = make("div", "", { "class": "cb-near-next" });
    box.appendChild(make("h2", "Check this next"));
    var p = make("p", "It tells these two apart: ");
    p.appendChild(cases.link(found.between[0]));
    p.appendChild(document.createTextNode(" (" + cases.names("root", found.between[0]).join(", ") + ") and "));
    p.appendChild(cases.link(found.between[1]));
    p.appendChild(document.createTextNode(" (" + cases.names("root", found.between[1]).join(", ") + ")."));
    box.appendChild(p);
    if (!found.apart.length) {
      box.appendChild(make("p", "No question left here tells them apart. Read both."));
    }
    found.apart.forEach(function (apart) {
      var of = index.findings[apart.finding];
      var row = finding(apart.finding);
      row.appendChild(make("span", (of[1] ? of[1] + ". " : "") + of[2] + " min. If so, more like "
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
  /* The numbers that can be, and at its field what is wrong with each of the others. */
  function numbers() {
    var typed = {}, wrong = {};
    Object.keys(near.asks).forEach(function (id) {
      if (!state.read[id]) { return; }
      var said = understood(state.read[id].text, near.asks[id], state.read[id].unit);
      if (said.wrong) { wrong[id] = said.wrong; } else { typed[id] = said.value; }
    });
    var cannot = near.wrong(typed);
    Object.keys(cannot).forEach(function (id) {
      wrong[id] = unfit(near.asks[id], cannot[id]);
      delete typed[id];
    });
    Object.keys(judged).forEach(function (id) { judged[id](wrong[id] || ""); });
    return typed;
  }
  function apply() {
    toAddress();
    recall();
    var typed = numbers(), held = result.contains(document.activeElement) && document.activeElement.closest("[data-finding]");
    var found = near.find({ family: state.family, facts: state.facts, seen: state.seen, typed: typed }, NEAREST);
    var any = found.like.length, given = state.family || Object.keys(state.facts).length || Object.keys(state.seen).length || Object.keys(typed).length;
    var close = any && found.like[0].word !== "weak";
    Object.keys(asked).forEach(function (plate) {
      asked[plate].hidden = !state.read[plate] && !readingsOf[plate].some(function (id) { return state.read[id]; });
    });
    stopped(found.stops, found.beyond, typed);
    var spoken = given ? said(found, typed) : null;
    result.replaceChildren.apply(result, spoken ? [spoken] : []);
    status.textContent = found.leave ? "Everybody out first. Nothing else is proposed."
      : !given ? "Enter a reading to see matching cases (" + table.id.length + " on file)."
      : close ? "Nearest of " + table.id.length + ": " + table.title[found.like[0].i] : "No case here is near this.";
    see.hidden = !given || found.leave;
    see.textContent = close ? "See them" : "Where to begin";
    if (state.code && !found.leave) { result.appendChild(withCode()); }
    if (given && any) { answer(found, typed, close); }
    if (given && !close && !found.leave) { fitting(found); }
    /* Answered there, one goes on there: at the same finding, or at what is now to be looked at first. */
    if (held) { (result.querySelector('[data-finding="' + held.dataset.finding + '"]') || result.querySelector("[data-finding]") || result).focus(); }
  }
  function answer(found, typed, close) {
    result.appendChild(make("h2", close ? "Nearest cases" : "No case here is near this. The closest"));
    result.appendChild(listed(found.like.map(function (one) { return item(one, typed, found); })));
    if (!found.other || !close) { return; }
    if (!found.like.some(function (one) { return one.i === found.other.i; })) {
      result.appendChild(make("h2", "Nearest with another cause"));
      result.appendChild(listed([item(found.other, typed, found)]));
    }
    result.appendChild(next(found));
  }
  /* Where no case is near: the causes that fit best by the knowledge, what would tell each, and what to read first. */
  function fitting(found) {
    var list = make("ul");
    result.appendChild(make("h2", "Causes that fit best"));
    found.fits.forEach(function (fit) {
      var entry = list.appendChild(make("li")), of = index.findings[fit.tells];
      entry.appendChild(make("a", index.causes[fit.cause][0], { href: "../" + index.causes[fit.cause][3] }));
      if (of) { entry.appendChild(make("span", "Look for: " + of[0] + " (" + of[2] + " min)." + (of[1] ? " " + of[1] + "." : ""), { "class": "cb-line" })); }
    });
    result.appendChild(list);
    if (found.stops.length) { result.appendChild(make("p", "Do first what the notice says.")); return; }
    result.appendChild(make("h2", "Read these first"));
    firsts.filter(function (first) { return first.dataset.family === state.family; }).forEach(function (first) { result.appendChild(first); });
  }

  fromAddress();
  build();
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  var bar = make("div", "", { "class": "cb-near-bar" }), side = make("div", "", { "class": "cb-near-side" });
  var halt = bar.appendChild(make("a", "", { "class": "cb-near-halt", href: "#cb-danger" }));
  bar.appendChild(status);
  var see = bar.appendChild(make("a", "See them", { href: "#cb-nearest" }));
  [bar, danger, result].forEach(function (part) { side.appendChild(part); });
  [first, side, more].forEach(function (part) { form.appendChild(part); });
  place.replaceChildren(form);
  apply();
})();
