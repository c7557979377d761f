/* What stands beside the call while it grows: stops at once, what the numbers make, the next test, the nearest cases.
   All from the data of the page "by readings"; where a site has none of it, what is missing is left out. */
(function () {
  "use strict";
  var make = window.causebookSheetFields.make, value = window.causebookSheetFields.value, NEAREST = 3;

  window.causebookSheetLive = function (data) {
    var facets = window.causebookFacets, index = window.causebookFindings;
    var near = facets && index && window.causebookNearness ? window.causebookNearness(index, facets.id) : null;
    var cases = facets && window.causebookCases ? window.causebookCases(facets, "../cases/") : null;
    var makes = window.causebookSheetNumbers(data.physics);

    function at(call, path) {
      return path.split(".").reduce(function (block, key) { return block && typeof block === "object" ? block[key] : undefined; }, call);
    }
    /* The plate as numbers, pairs and words. */
    function plate(call) {
      var out = {};
      data.plate.forEach(function (field) {
        var path = field.at.join("."), text = at(call, path);
        if (text === undefined || text === "") { return; }
        if (field.kind === "number") { out[path] = value(text, field.unit); }
        else if (field.kind === "range") {
          var ends = String(text).split(/\s*(?:to|-|–)\s*/), high = value(ends[1], field.unit);
          if (high !== undefined) { out[path] = [value(ends[0] + " " + field.unit, field.unit), high]; }
        } else { out[path] = text; }
      });
      return out;
    }
    /* What was read and seen before or after the repair, with nothing changed for one step only; the last word counts. */
    function known(call, after) {
      var read = {}, seen = {};
      (call.visits || []).forEach(function (visit) {
        (visit.steps || []).forEach(function (step) {
          if (Boolean(step.after) !== after || step.with) { return; }
          Object.keys(step.read || {}).forEach(function (id) {
            var known = data.readings[id], number = known && value(step.read[id], known.unit);
            if (number !== undefined) { read[id] = number; }
          });
          Object.keys(step.seen || {}).forEach(function (id) {
            if (step.seen[id] === "yes" || step.seen[id] === "no") { seen[id] = step.seen[id] === "yes"; }
          });
        });
      });
      return { read: read, seen: seen };
    }
    function typed(read, made, held) {
      var out = {}, us = Object.assign({}, read);
      if (made.static !== undefined && us["external-static"] === undefined) { us["external-static"] = made.static; }
      if (made.input !== undefined) { us["clocked-input"] = made.input; }
      Object.keys(data.heldAgainst).forEach(function (id) {
        var where = data.heldAgainst[id], there = held[where[0]];
        if (there !== undefined) { us[id] = where[1] === null ? there : there[where[1]]; }
      });
      Object.keys(us).forEach(function (id) {
        var ask = near && near.asks[id];
        if (ask && us[id] !== undefined) { out[id] = ask.units[0][1] * us[id] + ask.units[0][2]; }
      });
      return out;
    }
    function grouped(number) { return Math.round(number).toLocaleString("en-US"); }
    /* What the numbers make, each with what it is held against. */
    function sentences(made, held) {
      var out = [], rise = held["furnace.rise"], most = held["furnace.static maximum"];
      if (made.rise !== undefined) {
        out.push("Rise " + made.rise.toFixed(1) + " °F" + (rise ? " (plate: " + rise[0] + "–" + rise[1] + ")"
          : ". Enter the plate's rise range to judge it."));
      }
      if (made.static !== undefined) {
        out.push("Static " + made.static.toFixed(2) + " in. w.c." + (most ? " (rated: " + most + ")" : ". Enter the plate's maximum static to judge it."));
      }
      if (made.input !== undefined) {
        out.push("Input by the clock " + grouped(made.input) + " Btu/h" + (made.share ? " (" + Math.round(100 * made.share) + " % of the plate)" : ""));
      }
      if (made.airflow !== undefined) {
        out.push("Airflow by the rise " + grouped(made.airflow) + " cfm" + (made.least ? " (needs at least " + grouped(made.least) + " for the plate's rise)" : ""));
      }
      return out;
    }

    return {
      known: known, plate: plate, makes: makes, sentences: sentences,
      /* {stops, made: {before, after}, found} of a call. */
      of: function (call, family, after) {
        var held = plate(call), out = { stops: [], made: {}, found: null };
        [false, true].forEach(function (late) {
          var said = known(call, late), made = makes(said.read, held), numbers = typed(said.read, made, held);
          out.made[late ? "after" : "before"] = made;
          if (!near) { return; }
          var found = near.find({ family: family, facts: {}, seen: said.seen, typed: numbers }, NEAREST);
          found.stops.forEach(function (pair) {
            if (!out.stops.some(function (stop) { return stop.id === pair[0].id; })) { out.stops.push(pair[0]); }
          });
          if (late === after) { out.found = found; }
        });
        out.held = held;
        return out;
      },
      /* The nearest cases as a list, and what to look at next. */
      nearest: function (found) {
        var box = make("div", "", { "class": "cb-cases" });
        if (!near || !cases || !found || !found.like.length) { return null; }
        var list = box.appendChild(make("ul"));
        found.like.forEach(function (one) { list.appendChild(cases.item(one.i)); });
        return box;
      },
      /* While a stop is open only what the stop allows is proposed; where one says to leave, nothing is. */
      next: function (found, tests, stops) {
        var list = make("ul"), apart = found ? found.apart : [];
        if (stops.some(function (stop) { return stop.leave; }) || (stops.length && !apart.length)) { return null; }
        if (apart.length) {
          apart.forEach(function (one) {
            var of = index.findings[one.finding];
            list.appendChild(make("li", of[0] + " (" + of[2] + " min). " + of[1]));
          });
        } else {
          tests.forEach(function (test) { list.appendChild(make("li", test[0] + " (" + test[2] + " min). " + test[1])); });
        }
        return list;
      }
    };
  };
})();
