/* The fields of the call sheet: numbers with a fixed unit and sign, answers, choices.  Each shows one text of the case
   file and gives back the text that now stands there; none knows where it is kept. */
(function () {
  "use strict";
  var count = 0;
  var SPELLED = [[/^(°\s*f|deg\s?f|degf|f)$/i, "degF"], [/^(("|″|in\.?)\s*)?(of\s*)?(w\.?\s?[cg]\.?|h2o)$|^iw[cg]$/i, "inH2O"],
    [/^(btuh|btu\/hr?|btu)$/i, "Btu/h"], [/^[uµμ]a$/i, "µA"], [/^([uµμ]f|mfd)$/i, "µF"], [/^a(mps?)?$/i, "A"],
    [/^(ohms?|Ω)$/i, "ohm"], [/^s(ec)?$/i, "s"], [/^min(utes?)?$/i, "min"], [/^cfm$/i, "cfm"], [/^rpm$/i, "rpm"]];

  function make(tag, text, attributes) {
    var element = document.createElement(tag);
    if (text) { element.textContent = text; }
    Object.keys(attributes || {}).forEach(function (name) { element.setAttribute(name, attributes[name]); });
    return element;
  }
  function id() { count += 1; return "cb-s-" + count; }
  function labelled(text, control, more) {
    var holder = make("div", "", { "class": "cb-sheet-field" });
    control.id = control.id || id();
    holder.appendChild(make("label", text, { "for": control.id }));
    var row = holder.appendChild(make("span", "", { "class": "cb-sheet-row" }));
    [].concat(more && more.before || [], control, more && more.after || []).forEach(function (part) { row.appendChild(part); });
    return holder;
  }
  function ours(unit) {
    var found = SPELLED.find(function (pair) { return pair[0].test(unit); });
    return found ? found[1] : unit;
  }
  /* "-0.36 inH2O" -> {minus, digits} where its unit is the field's own; otherwise the words as they stand. */
  function split(text, unit) {
    var found = /^([-+−]?)\s*(\d[\d.,]*|\.\d+)\s*(.*)$/.exec((text || "").trim());
    if (!found || ours(found[3].trim()) !== unit) { return { words: text || "" }; }
    return { minus: found[1] === "-" || found[1] === "−", digits: found[2] };
  }
  /* The number of a text in the field's unit; undefined where it has another or is none. */
  function value(text, unit) {
    var parts = split(typeof text === "object" && text ? text.value : text, unit);
    if (parts.digits === undefined) { return undefined; }
    var number = Number(parts.digits.replace(/,/g, ""));
    return Number.isFinite(number) ? (parts.minus ? -number : number) : undefined;
  }
  function joined(typed, minus, unit) {
    var bare = typed.trim().replace(/−/g, "-");
    if (!bare) { return ""; }
    if (!/^[-+]?(\d[\d.,]*|\.\d+)$/.test(bare)) { return bare; }
    if (/^\d+,\d{1,2}$/.test(bare.replace(/^[-+]/, ""))) { bare = bare.replace(",", "."); }
    var signed = /^[-+]/.test(bare);
    return (signed ? bare.replace("+", "") : (minus ? "-" : "") + bare) + (unit ? " " + unit : "");
  }

  /* A number: `about` has unit, shown, sign (-1 suction, 1 either, 0 none), low, high, clock (seconds a unit). */
  function number(name, about, text, changed) {
    var parts = split(text, about.unit), minus = parts.digits === undefined ? about.sign < 0 : parts.minus;
    var input = make("input", "", { type: "text", inputmode: "decimal", autocomplete: "off", enterkeyhint: "next" });
    input.value = parts.digits === undefined ? parts.words : parts.digits;
    var before = [], after = [make("span", about.shown || "", { "class": "cb-sheet-unit" })], sign = null;
    var wrong = make("span", "", { "class": "cb-sheet-wrong" });
    wrong.id = id();
    input.setAttribute("aria-describedby", wrong.id);
    function said() {
      var now = joined(input.value, minus, about.unit), amount = value(now, about.unit), outside = "";
      if (amount !== undefined && ((about.low !== null && amount < about.low) || (about.high !== null && amount > about.high))) {
        outside = "Can only be " + (about.low === null ? "up to " + about.high : about.high === null ? about.low + " or more" : about.low + " to " + about.high) + " " + about.shown + ".";
      }
      wrong.textContent = outside;
      input.setAttribute("aria-invalid", String(Boolean(outside)));
      changed(now);
    }
    function drawn() {
      sign.textContent = minus ? "−" : "+";
      sign.setAttribute("aria-pressed", String(Boolean(minus)));
    }
    if (about.sign) {
      sign = make("button", "", { type: "button", "class": "cb-sheet-sign", "aria-label": "Below zero: " + name });
      sign.addEventListener("click", function () { minus = !minus; drawn(); said(); });
      before.push(sign);
      drawn();
    }
    if (about.clock) { after.push(clock(name, about.clock, function (units) { input.value = units; said(); })); }
    input.addEventListener("input", said);
    var field = labelled(name, input, { before: before, after: after });
    if (about.where) { field.appendChild(make("span", about.where, { "class": "cb-sheet-where" })); }
    field.appendChild(wrong);
    return field;
  }
  /* A stopwatch that fills its number in. */
  function clock(name, seconds, done) {
    var began = null, button = make("button", "Start", { type: "button", "aria-label": "Stopwatch: " + name });
    button.addEventListener("click", function () {
      if (began === null) { began = Date.now(); button.textContent = "Stop"; return; }
      var passed = (Date.now() - began) / 1000 / seconds;
      began = null;
      button.textContent = "Start";
      done(passed.toFixed(1));
    });
    return button;
  }
  /* Two numbers of one unit, "35 to 65 degF". */
  function range(name, about, text, changed) {
    var found = /^\s*([\d.,]+)\D*?\s*(?:to|-|–|\/)\s*([\d.,]+)\s*(.*)$/.exec(text || ""), fits = found && ours(found[3].trim()) === about.unit;
    var ends = ["lowest", "highest"].map(function (end, n) {
      var input = make("input", "", { type: "text", inputmode: "decimal", autocomplete: "off" });
      if (n) { input.setAttribute("aria-label", name + ", " + end); }
      input.value = fits ? found[n + 1] : n === 0 ? text || "" : "";
      return input;
    });
    function said() {
      var both = ends.map(function (input) { return input.value.trim(); });
      changed(both[0] && both[1] ? both[0] + " to " + both[1] + " " + about.unit : both[0] && !/^[\d.,]*$/.test(both[0]) ? both[0] : "");
    }
    ends.forEach(function (input) { input.addEventListener("input", said); });
    return labelled(name, ends[0], { after: [make("span", "to"), ends[1], make("span", about.shown, { "class": "cb-sheet-unit" })] });
  }
  function text(name, now, changed, long) {
    var input = make(long ? "textarea" : "input", "", long ? { rows: "2" } : { type: "text", autocomplete: "off" });
    input.value = now || "";
    input.addEventListener("input", function () { changed(input.value.trim()); });
    return labelled(name, input);
  }
  function choice(name, choices, now, changed, none) {
    var select = make("select");
    select.appendChild(make("option", none || "not said", { value: "" }));
    choices.concat(now && !choices.some(function (one) { return one[0] === now; }) ? [[now, ""]] : []).forEach(function (one) {
      select.appendChild(make("option", one[1] ? one[0] + " (" + one[1] + ")" : one[2] || one[0], { value: one[0] }));
    });
    select.value = now || "";
    select.addEventListener("change", function () { changed(select.value); });
    return labelled(name, select);
  }
  /* One of several words by tapping it; tapped again it is taken back. */
  function answers(name, words, now, changed, how) {
    var row = make("div", "", { "class": "cb-sheet-look", role: "group", "aria-label": name });
    var said = row.appendChild(make("span", name));
    if (how) { said.appendChild(make("span", how, { "class": "cb-sheet-where" })); }
    var holder = row.appendChild(make("span", "", { "class": "cb-sheet-three" }));
    var buttons = words.map(function (word) {
      var button = holder.appendChild(make("button", word[1], { type: "button", "aria-label": word[2] || word[1] }));
      button.addEventListener("click", function () {
        now = now === word[0] ? "" : word[0];
        drawn();
        changed(now);
      });
      return [button, word[0]];
    });
    function drawn() { buttons.forEach(function (pair) { pair[0].setAttribute("aria-pressed", String(now === pair[1])); }); }
    drawn();
    return row;
  }
  /* Some of several words. */
  function some(name, words, now, changed) {
    var held = (now || []).slice(), row = make("fieldset", "", { "class": "cb-sheet-some" });
    row.appendChild(make("legend", name));
    words.forEach(function (word) {
      var label = row.appendChild(make("label")), box = label.appendChild(make("input", "", { type: "checkbox" }));
      box.checked = held.indexOf(word) >= 0;
      label.appendChild(document.createTextNode(" " + word));
      box.addEventListener("change", function () {
        held = words.filter(function (one) { return one === word ? box.checked : held.indexOf(one) >= 0; });
        changed(held);
      });
    });
    return row;
  }
  function button(label, pressed, more) {
    var one = make("button", label, Object.assign({ type: "button" }, more || {}));
    one.addEventListener("click", pressed);
    return one;
  }
  function fold(title, open, inside) {
    var details = make("details");
    details.appendChild(make("summary", title));
    inside.forEach(function (part) { details.appendChild(part); });
    details.open = open;
    return details;
  }

  window.causebookSheetFields = { make: make, number: number, range: range, text: text, choice: choice, answers: answers,
    some: some, button: button, fold: fold, labelled: labelled, value: value };
})();
