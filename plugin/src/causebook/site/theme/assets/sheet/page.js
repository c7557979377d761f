/* The call sheet: a call written down at the furnace with one thumb, kept on this device until it is handed in. */
(function () {
  "use strict";
  var place = document.querySelector(".cb-sheet"), data = window.causebookSheet, F = window.causebookSheetFields;
  if (!place) { return; }
  if (!data || !F) { place.textContent = "The call sheet could not be loaded."; return; }
  var files = window.causebookSheetFile, photos = window.causebookSheetPhoto, drafts = window.causebookSheetDrafts;
  var live = window.causebookSheetLive(data), make = F.make, button = F.button, fold = F.fold;
  var draft = null, saving = 0, parts = {};
  var YES = [["yes", "Yes"], ["no", "No"], ["unclear", "?", "Not sure"]];

  /* ---- what is kept */

  function today() {
    var now = new Date();
    return now.getFullYear() + "-" + String(now.getMonth() + 1).padStart(2, "0") + "-" + String(now.getDate()).padStart(2, "0");
  }
  function fresh() {
    return { key: Date.now() + "-" + Math.random().toString(36).slice(2, 8), saved: Date.now(), at: 0, began: null, files: {},
      call: { title: "", complaint: { family: "", words: "" }, visits: [{ date: today(), steps: [{}] }] } };
  }
  function keep() {
    window.clearTimeout(saving);
    saving = window.setTimeout(store, 250);
    say("Saving…");
  }
  function store() {
    if (!draft) { return Promise.resolve(); }
    draft.saved = Date.now();
    return drafts.put(draft).then(function () { say("Saved on this device."); }, function () { say("This device refuses to keep drafts. Save the file before you leave."); });
  }
  function say(words) { if (parts.status && parts.status.textContent !== words) { parts.status.textContent = words; } }
  window.addEventListener("pagehide", store);
  document.addEventListener("visibilitychange", function () { if (document.hidden) { store(); } });

  function visit() { return draft.call.visits[draft.call.visits.length - 1]; }
  function step() { return visit().steps[draft.at]; }
  function put(block, key, value) {
    if (value === "" || value === undefined || (Array.isArray(value) && !value.length)) { delete block[key]; } else { block[key] = value; }
  }
  function inStep(group, id, value) {
    var block = step()[group] = step()[group] || {};
    if (value && typeof block[id] === "object" && block[id]) { block[id].value = value; } else { put(block, id, value); }
    if (!Object.keys(block).length) { delete step()[group]; }
    touched();
  }
  function touched() { keep(); alive(); }
  function written(one) { return Object.keys(one).some(function (key) { return key !== "after" && key !== "do"; }); }
  function family() { return data.families[draft.call.complaint.family]; }

  /* ---- the list of calls */

  function home() {
    draft = null;
    drafts.all().catch(function () { return []; }).then(function (all) {
      var list = make("ul", "", { "class": "cb-sheet-drafts" });
      all.sort(function (a, b) { return b.saved - a.saved; }).forEach(function (one) {
        var entry = list.appendChild(make("li")), name = one.call.title || (data.families[one.call.complaint.family] || {}).name || "A call";
        entry.appendChild(button(name + ", " + one.call.visits[0].date, function () { open(one); }));
        entry.appendChild(button("Delete", function () {
          if (window.confirm("Delete this call from this device?")) { drafts.remove(one.key).then(home); }
        }, { "aria-label": "Delete: " + name, "class": "cb-sheet-quiet" }));
      });
      var picked = make("input", "", { type: "file", accept: ".zip,.yml,.yaml", "class": "cb-hidden" });
      picked.addEventListener("change", function () { take(picked.files[0]); });
      var label = make("label", "Open a saved call", { "class": "cb-sheet-button" });
      label.appendChild(picked);
      parts = { status: make("p", "", { role: "status", "class": "cb-count" }) };
      place.replaceChildren(button("New call", function () { open(fresh()); drafts.persist(); }, { "class": "cb-sheet-main" }), list, label, parts.status);
      if (all.length) { place.insertBefore(make("h2", "Calls on this device"), list); }
    });
  }
  /* A zip or a case.yml, read into a call of its own. */
  function take(file) {
    return file.arrayBuffer().then(function (buffer) {
      var bytes = new Uint8Array(buffer);
      var held = /\.zip$/i.test(file.name) ? files.unzip(bytes) : { call: files.parse(new TextDecoder().decode(bytes)), files: {} };
      var one = fresh(), call = one.call;
      one.call = Object.assign({}, held.call);
      one.call.complaint = Object.assign({ family: "", words: "" }, held.call.complaint);
      one.call.complaint.family = known(one.call.complaint.family);
      one.call.visits = Array.isArray(held.call.visits) && held.call.visits.length ? held.call.visits : call.visits;
      one.call.visits.forEach(function (each) {
        each.steps = Array.isArray(each.steps) && each.steps.length ? each.steps : [{}];
        each.steps.forEach(function (one) { ["read", "seen"].forEach(function (group) { one[group] = renamed(one[group]); if (!one[group]) { delete one[group]; } }); });
      });
      one.at = one.call.visits[one.call.visits.length - 1].steps.length - 1;
      one.files = held.files;
      open(one);
      return store();
    }).catch(function (reason) { say(reason.message || "That file could not be read."); });
  }
  function known(name) { return (name || "").trim().toLowerCase().replace(/[_\s]+/g, "-"); }
  function spoken(id) { return id.replace(/-/g, " "); }
  function renamed(block) {
    if (!block || typeof block !== "object") { return undefined; }
    return Object.fromEntries(Object.keys(block).map(function (name) { return [known(name), block[name]]; }));
  }

  /* ---- one call */

  function open(one) {
    draft = one;
    parts = {};
    ["status", "danger", "complaint", "steps", "bar", "step", "plate", "numbers", "next", "finish"].forEach(function (name) {
      parts[name] = make(name === "status" ? "p" : "section", "", { "class": "cb-sheet-" + name });
    });
    parts.status.setAttribute("role", "status");
    parts.danger.setAttribute("role", "alert");
    place.replaceChildren(button("All calls", function () { store().then(home); }, { "class": "cb-sheet-quiet" }), parts.status,
      parts.complaint, parts.danger, parts.steps, parts.bar, parts.step, parts.numbers, parts.next, parts.plate, parts.finish);
    complaint();
    steps();
    plate();
    finish();
    alive();
  }
  function complaint() {
    var call = draft.call, head = make("h2", family() ? family().name : "What is the complaint?");
    ["steps", "bar"].forEach(function (name) { parts[name].hidden = !family(); });
    if (!family()) {
      var grid = make("div", "", { "class": "cb-sheet-grid" });
      Object.keys(data.families).forEach(function (id) {
        var of = data.families[id], one = button(of.name, function () { call.complaint.family = id; complaint(); one_step(); plate(); finish(); touched(); });
        one.appendChild(make("span", of.complaint, { "class": "cb-sheet-where" }));
        grid.appendChild(one);
      });
      parts.complaint.replaceChildren(head, grid);
      return;
    }
    parts.complaint.replaceChildren(head, button("Change", function () { call.complaint.family = ""; complaint(); touched(); }, { "class": "cb-sheet-quiet", "aria-label": "Change the complaint" }),
      F.text("In the customer's words", call.complaint.words, function (words) { call.complaint.words = words; touched(); }, true));
  }

  /* ---- steps */

  function told(one, n) {
    return one.do || doing(one) || "Step " + (n + 1);
  }
  /* What a step did, where nobody wrote it: from what stands in it. */
  function doing(one) {
    var read = Object.keys(one.read || {}), seen = Object.keys(one.seen || {}), changed = Object.keys(one.changed || {});
    var names = function (ids, table, at) { return ids.slice(0, 3).map(function (id) { return (table[id] ? (at === undefined ? table[id].name : table[id][at]) : spoken(id)).toLowerCase(); }).join(", ") + (ids.length > 3 ? " and more" : ""); };
    if (changed.length) { return "Changed: " + changed.map(function (part) { return part + " " + one.changed[part]; }).join(", "); }
    if (read.length) { return "Read " + names(read, data.readings); }
    if (seen.length) { return "Checked: " + names(seen, data.findings, 0); }
    if ((one.photo || []).length) { return "Took a photo"; }
    return "";
  }
  function steps() {
    var list = make("ol", "", { "class": "cb-sheet-done" });
    visit().steps.forEach(function (one, n) {
      var entry = list.appendChild(make("li"));
      var shown = button(told(one, n) + (one.after ? " (after repair)" : ""), function () { draft.at = n; steps(); });
      if (n === draft.at) { shown.setAttribute("aria-current", "step"); }
      entry.appendChild(shown);
    });
    var late = Boolean(step().after);
    var when = make("div", "", { "class": "cb-sheet-when", role: "group", "aria-label": "When this is read" });
    [[false, "Before repair"], [true, "After repair"]].forEach(function (side) {
      when.appendChild(button(side[1], function () { turn(side[0]); }, { "aria-pressed": String(late === side[0]) }));
    });
    when.appendChild(button("Next step", function () { another(Boolean(step().after)); }, { "class": "cb-sheet-next" }));
    parts.steps.replaceChildren(make("h2", "Steps"), list);
    parts.bar.replaceChildren(when);
    one_step();
  }
  /* Before or after: a step that holds something stays what it is, and a new one begins on the other side. */
  function turn(after) {
    if (Boolean(step().after) === after) { return; }
    if (written(step())) { another(after); return; }
    put(step(), "after", after ? "repair" : "");
    steps();
    touched();
  }
  function another(after) {
    stopTimer();
    visit().steps.push(after ? { after: "repair" } : {});
    draft.at = visit().steps.length - 1;
    steps();
    touched();
  }
  function stopTimer() {
    if (!draft.began) { return; }
    step().minutes = String(Math.max(1, Math.round((Date.now() - draft.began) / 60000)));
    draft.began = null;
  }
  function one_step() {
    var one = step(), of = family();
    if (!of) { parts.step.replaceChildren(); return; }
    var does = F.text("What you did", one.do, function (words) { put(step(), "do", words); touched(); });
    does.querySelector("input").placeholder = doing(one) || "Filled in from what you enter";
    parts.step.replaceChildren(does, timer(), group("Readings", of.read, Object.keys(one.read || {}), reading, data.readings),
      group("What you see", of.seen, Object.keys(one.seen || {}), look, data.findings), changes(), state(), pictures(),
      F.text("What came of it", one.told, function (words) { put(step(), "told", words); touched(); }, true));
  }
  function timer() {
    var row = make("div", "", { "class": "cb-sheet-row" });
    var field = F.labelled("Minutes", Object.assign(make("input", "", { type: "text", inputmode: "numeric" }), { value: step().minutes || "" }), {
      after: [button(draft.began ? "Stop the timer" : "Start the timer", function () {
        if (draft.began) { stopTimer(); } else { draft.began = Date.now(); }
        keep();
        row.replaceWith(timer());
      })]
    });
    field.querySelector("input").addEventListener("input", function (event) { put(step(), "minutes", event.target.value.trim()); touched(); });
    row.appendChild(field);
    return row;
  }
  /* The first of a family and whatever is answered already; all others by their words. */
  function group(title, ordered, held, field, table) {
    var first = ordered.filter(function (id, n) { return n < data.first || held.indexOf(id) >= 0; });
    var box = make("div"), more = make("div", "", { "class": "cb-sheet-list" }), list = make("div", "", { "class": "cb-sheet-list" });
    first.forEach(function (id) { list.appendChild(field(id)); });
    held.filter(function (id) { return ordered.indexOf(id) < 0; }).forEach(function (id) { list.appendChild(field(id)); });
    var search = make("input", "", { type: "search", autocomplete: "off" });
    search.addEventListener("input", function () {
      var words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
      var found = words.length ? ordered.filter(function (id) {
        var name = (table[id].name || table[id][0]).toLowerCase();
        return first.indexOf(id) < 0 && words.every(function (word) { return name.indexOf(word) >= 0; });
      }).slice(0, 12) : [];
      more.replaceChildren.apply(more, found.length || !words.length ? found.map(field) : [make("p", "Nothing has these words.")]);
    });
    box.appendChild(make("h3", title));
    [list, F.labelled("Find another", search), more].forEach(function (part) { box.appendChild(part); });
    return box;
  }
  function reading(id) {
    var about = data.readings[id], now = (step().read || {})[id];
    if (!about) { return F.text(spoken(id), textOf(now), function (words) { inStep("read", id, words); }); }
    return F.number(about.name, about, textOf(now), function (text) { inStep("read", id, text); });
  }
  function textOf(now) { return now && typeof now === "object" ? now.value : now; }
  function look(id) {
    var of = data.findings[id] || [spoken(id), ""];
    return F.answers(of[0], YES, (step().seen || {})[id] || "", function (answer) { inStep("seen", id, answer); }, of[1]);
  }
  /* Pairs of a part and what it is now, each taken back by its button. */
  function pairs(title, key, choices, hows, added) {
    var box = make("div"), list = box.appendChild(make("ul", "", { "class": "cb-sheet-pairs" })), held = step()[key] || {};
    Object.keys(held).forEach(function (part) {
      var entry = list.appendChild(make("li", part + ": " + held[part] + " "));
      entry.appendChild(button("Remove", function () { inStep(key, part, ""); steps(); }, { "aria-label": "Remove " + part, "class": "cb-sheet-quiet" }));
    });
    var part = "", how = "", row = make("div", "", { "class": "cb-sheet-row" });
    function ready() { if (part && how) { added(part, how); } }
    var second = make("span");
    row.appendChild(F.choice("Part", choices.map(function (one) { return [one]; }), "", function (word) {
      part = word;
      how = "";
      second.replaceChildren(F.choice("Now", hows(part).map(function (one) { return [one]; }), "", function (now) { how = now; ready(); }, "choose"));
    }, "choose"));
    row.appendChild(second);
    box.appendChild(row);
    return fold(title + (Object.keys(held).length ? " (" + Object.keys(held).length + ")" : ""), Object.keys(held).length > 0, [box]);
  }
  function changes() {
    return pairs("What you changed", "changed", data.changed, function () { return data.changes; }, function (part, how) {
      /* What was read stays before the change; what is read next comes after it. */
      if (step().read && !step().changed && !step().after) { another(false); }
      inStep("changed", part, how);
      another(true);
    });
  }
  function state() {
    return pairs("For this step only (filter out, door shut)", "with", Object.keys(data.states), function (part) { return data.states[part] || []; },
      function (part, how) { inStep("with", part, how); steps(); });
  }
  function pictures() {
    var one = step(), box = make("div"), list = box.appendChild(make("ul", "", { "class": "cb-sheet-photos" }));
    (one.photo = Array.isArray(one.photo) ? one.photo : one.photo ? [one.photo] : []).forEach(function (photo, n) {
      var entry = list.appendChild(make("li"));
      if (draft.files[photo.file]) { photos.thumbnail(draft.files[photo.file]).then(function (canvas) { entry.insertBefore(canvas, entry.firstChild); }).catch(function () {}); }
      entry.appendChild(F.text("Photo " + (n + 1) + " shows", photo.shows, function (words) { photo.shows = words; touched(); }));
      entry.appendChild(button("Remove", function () { delete draft.files[photo.file]; one.photo.splice(n, 1); steps(); touched(); }, { "aria-label": "Remove photo " + (n + 1), "class": "cb-sheet-quiet" }));
    });
    if (!one.photo.length) { delete one.photo; }
    var input = make("input", "", { type: "file", accept: "image/*", capture: "environment", multiple: "", "class": "cb-hidden" });
    var label = make("label", "Take a photo", { "class": "cb-sheet-button" });
    input.addEventListener("change", function () {
      var into = step();
      Array.from(input.files).reduce(function (before, file) {
        return before.then(function () { return photos.shrink(file); }).then(function (bytes) {
          var name = "photos/" + free("photos/", ".jpg");
          draft.files[name] = bytes;
          (into.photo = into.photo || []).push({ file: name, shows: "" });
        });
      }, Promise.resolve()).then(function () { steps(); touched(); }, function (reason) { say(reason.message); });
    });
    label.appendChild(input);
    box.appendChild(label);
    box.appendChild(logs());
    return box;
  }
  function free(folder, ending) {
    for (var n = 1; ; n += 1) { if (!((folder + n + ending) in draft.files)) { return n + ending; } }
  }
  /* A logger's table: the file, and which of its columns is which temperature. */
  function logs() {
    var one = step(), box = make("div"), input = make("input", "", { type: "file", accept: ".csv,text/csv", "class": "cb-hidden" });
    var label = make("label", one.log ? "Replace the log" : "Add a temperature log", { "class": "cb-sheet-button" });
    input.addEventListener("change", function () {
      input.files[0].arrayBuffer().then(function (buffer) {
        var name = "logs/" + free("logs/", ".csv");
        draft.files[name] = new Uint8Array(buffer);
        step().log = { file: name, shows: {} };
        steps();
        touched();
      });
    });
    label.appendChild(input);
    box.appendChild(label);
    if (one.log && draft.files[one.log.file]) {
      var head = new TextDecoder().decode(draft.files[one.log.file]).split(/\r?\n/).find(function (line) { return line.trim() && line[0] !== "#"; }) || "";
      var columns = head.split(head.indexOf(";") >= 0 ? ";" : ",").map(function (name) { return name.replace(/\[.*\]/, "").trim(); });
      ["supply-air", "return-air"].forEach(function (id) {
        box.appendChild(F.choice(data.readings[id].name + " is the column", columns.map(function (name) { return [name]; }), (one.log.shows || {})[id], function (column) {
          one.log.shows = one.log.shows || {};
          put(one.log.shows, id, column);
          touched();
        }));
      });
    }
    return box;
  }

  /* ---- the plate, the end of the call */

  function named(at) {
    var words = (at[0] === "furnace" ? ["plate"].concat(at.slice(1)) : at[0] === "site" ? at.slice(1) : at).join(" ");
    return words.charAt(0).toUpperCase() + words.slice(1);
  }
  function plate() {
    if (!family()) { parts.plate.replaceChildren(); return; }
    var fields = data.plate.map(function (field) {
      var path = field.at, block = path.slice(0, -1).reduce(function (at, key) { return at && typeof at === "object" ? at[key] : undefined; }, draft.call);
      var now = block && typeof block === "object" ? block[path[path.length - 1]] : undefined;
      function set(value) {
        var into = path.slice(0, -1).reduce(function (at, key) { return at[key] = at[key] && typeof at[key] === "object" ? at[key] : {}; }, draft.call);
        put(into, path[path.length - 1], value);
        touched();
      }
      if (field.kind === "number") { return F.number(named(path), Object.assign({ sign: 0, low: null, high: null }, field), now, set); }
      if (field.kind === "range") { return F.range(named(path), field, now, set); }
      if (field.kind === "choice") { return F.choice(named(path), field.choices, now, set); }
      if (field.kind === "parts") { return F.some(named(path), field.choices, now, set); }
      return F.text(named(path), now, set);
    });
    parts.plate.replaceChildren(fold("Rating plate and house", false, fields));
  }
  function finish() {
    if (!family()) { parts.finish.replaceChildren(); return; }
    var call = draft.call, end = visit().concluded = visit().concluded || {}, roles = ["root", "helped by", "underlying", "damage done", "not it"];
    var known = Object.keys(data.causes), likely = family().causes;
    var causes = likely.concat(known.filter(function (id) { return likely.indexOf(id) < 0; })).map(function (id) { return [id, "", data.causes[id]]; });
    var answers = make("div");
    roles.forEach(function (role) {
      var said = end[role] = renamed(end[role]) || {};
      Object.keys(said).forEach(function (id) {
        var row = answers.appendChild(F.text(role.charAt(0).toUpperCase() + role.slice(1) + ": " + (data.causes[id] || spoken(id)) + ", because", said[id], function (why) { said[id] = why; touched(); }));
        row.appendChild(button("Remove", function () { delete said[id]; finish(); touched(); }, { "aria-label": "Remove this answer", "class": "cb-sheet-quiet" }));
      });
    });
    var role = "root", add = make("div", "", { "class": "cb-sheet-row" });
    add.appendChild(F.choice("As", roles.map(function (one) { return [one]; }), role, function (one) { role = one || "root"; }));
    add.appendChild(F.choice("Cause", causes, "", function (id) { if (id) { end[role][id] = end[role][id] || ""; finish(); touched(); } }, "choose"));
    parts.missing = make("div");
    var out = make("div", "", { "class": "cb-sheet-row" });
    out.appendChild(button("Save the file", function () { handed(false); }, { "class": "cb-sheet-main" }));
    if (navigator.canShare) { out.appendChild(button("Share", function () { handed(true); })); }
    var inside = [F.text("Title: symptom, then cause or equipment", call.title, function (words) { call.title = words; touched(); }),
      F.text("Date", visit().date, function (words) { visit().date = words; touched(); }), answers, add,
      F.choice("How it ended", data.outcomes, call.outcome, function (word) { put(call, "outcome", word); touched(); }),
      F.text("What would settle it", end["would settle"], function (words) { put(end, "would settle", words); touched(); }, true),
      F.text("Put out of service, and who was told", end.stop, function (words) { put(end, "stop", words); touched(); }, true),
      closings(end),
      F.text("Still open", typeof visit().open === "string" ? visit().open : (visit().open || []).join("; "), function (words) { put(visit(), "open", words); touched(); }, true),
      F.text("For the customer, in plain words", call.customer, function (words) { put(call, "customer", words); touched(); }, true)];
    parts.finish.replaceChildren(make("h2", "Finish"), fold("Cause, outcome and customer", false, inside), parts.missing, out);
    missing();
  }
  /* How each stop notice was ended: by its name, or in words alone as an older file has it. */
  function closings(end) {
    if (typeof end["stop closed"] === "string") {
      return F.text("How the stop notice was ended", end["stop closed"], function (words) { put(end, "stop closed", words); touched(); }, true);
    }
    var said = renamed(end["stop closed"]) || {}, box = make("div");
    end["stop closed"] = said;
    Object.keys(said).forEach(function (id) {
      box.appendChild(F.text("Ended: " + (data.stops[id] || spoken(id)) + ", by", said[id], function (words) { put(said, id, words); touched(); }, true));
    });
    box.appendChild(F.choice("End a stop notice", Object.keys(data.stops).map(function (id) { return [id, "", data.stops[id]]; }), "", function (id) {
      if (id) { said[id] = said[id] || ""; finish(); }
    }, "choose"));
    return box;
  }
  /* What the office would ask for. */
  function lacking() {
    var out = [], call = draft.call, all = call.visits.reduce(function (list, one) { return list.concat(one.steps); }, []);
    var root = call.visits.some(function (one) { return one.concluded && Object.keys(one.concluded.root || {}).length; });
    if (!call.complaint.words) { out.push("The customer's own words."); }
    if (!all.some(function (one) { return one.read || one.seen; })) { out.push("A reading, or something you saw."); }
    if (!(call.furnace && call.furnace.kind && call.furnace.input)) { out.push("The plate: 80 % or 90 %, and its input."); }
    if (!root) { out.push("The cause, or what would settle it."); }
    if (root && !all.some(function (one) { return one.after; })) { out.push("A reading after the repair."); }
    if (all.some(function (one) { return (one.photo || []).some(function (photo) { return !photo.shows; }); })) { out.push("What each photo shows."); }
    return out;
  }
  function missing() {
    if (!parts.missing) { return; }
    var lacks = lacking(), list = make("ul");
    lacks.forEach(function (words) { list.appendChild(make("li", words)); });
    parts.missing.replaceChildren.apply(parts.missing, lacks.length ? [make("p", "Still missing:"), list] : [make("p", "Nothing is missing.")]);
  }
  /* The call as it is handed in: what nobody wrote is filled in from what stands there. */
  function whole() {
    var call = JSON.parse(JSON.stringify(draft.call)), of = family();
    call.title = call.title || (of ? of.name : "A call");
    call.complaint.words = call.complaint.words || "not written down";
    call.complaint.family = spoken(call.complaint.family);
    call.visits.forEach(function (one) {
      one.steps = one.steps.filter(written);
      one.steps.forEach(function (each) {
        each.do = each.do || doing(each) || "Looked at the furnace";
        (Array.isArray(each.photo) ? each.photo : []).forEach(function (photo) { photo.shows = photo.shows || each.do; });
        ["read", "seen"].forEach(function (group) {
          if (each[group]) { each[group] = Object.fromEntries(Object.keys(each[group]).map(function (id) { return [spoken(id), each[group][id]]; })); }
        });
        if (each.log && each.log.shows) { each.log.shows = Object.fromEntries(Object.keys(each.log.shows).map(function (id) { return [spoken(id), each.log.shows[id]]; })); }
      });
      if (!one.steps.length) { one.steps = [{ do: "Looked at the furnace" }]; }
      ["root", "helped by", "underlying", "damage done", "not it"].forEach(function (role) {
        var said = one.concluded && one.concluded[role];
        if (said && typeof said === "object" && !Array.isArray(said)) {
          one.concluded[role] = Object.fromEntries(Object.keys(said).map(function (id) { return [spoken(id), said[id] || "not tested"]; }));
        }
      });
    });
    return files.tidy(call);
  }
  function handed(share) {
    stopTimer();
    var call = whole(), name = files.name(call) + ".zip", file = new File([files.zip(call, draft.files)], name, { type: "application/zip" });
    store();
    if (share && navigator.canShare({ files: [file] })) { navigator.share({ files: [file], title: call.title }).catch(function () {}); return; }
    var address = URL.createObjectURL(file), link = make("a", "", { href: address, download: name });
    document.body.appendChild(link);
    link.click();
    link.remove();
    window.setTimeout(function () { URL.revokeObjectURL(address); }, 60000);
    say("Saved as " + name + ". Send it to the office; the call stays here until you delete it.");
  }

  /* ---- beside the call */

  function alive() {
    if (!draft || !family()) { [parts.danger, parts.numbers, parts.next].forEach(function (part) { part.replaceChildren(); }); return; }
    var after = Boolean(step().after), of = live.of(draft.call, draft.call.complaint.family, after);
    var halts = of.stops.map(function (stop) { return stop.name; }).join();
    if (parts.danger.dataset.told !== halts) {
      parts.danger.dataset.told = halts;
      parts.danger.replaceChildren.apply(parts.danger, of.stops.map(function (stop) {
        var box = make("div", "", { "class": "cb-stop cb-stop-open" });
        box.appendChild(make("p")).appendChild(make("strong", "Stop use: " + stop.name));
        [stop.do, stop.technician].filter(Boolean).forEach(function (words) { box.appendChild(make("p", words)); });
        return box;
      }));
    }
    var said = [];
    [["before", "Before"], ["after", "After repair"]].forEach(function (side) {
      var sentences = live.sentences(of.made[side[0]], of.held);
      if (sentences.length) {
        said.push(make("h3", side[1]));
        var list = make("ul");
        sentences.forEach(function (words) { list.appendChild(make("li", words)); });
        said.push(list);
      }
    });
    parts.numbers.replaceChildren.apply(parts.numbers, said.length ? [make("h2", "What the numbers make")].concat(said) : []);
    var box = live.nearest(of.found), next = live.next(of.found, family().tests, of.stops);
    parts.next.replaceChildren.apply(parts.next, (next ? [make("h2", "Check this next"), next] : []).concat(box ? [make("h2", "Nearest cases"), box] : []));
    missing();
  }

  home();
})();
