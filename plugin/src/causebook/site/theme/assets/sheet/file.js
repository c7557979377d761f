/* The call as a case file, and back: `case.yml` by js-yaml, photos and logs beside it in one zip by fflate.
   Every value stays the text that was typed, so that form, file and form again hold the same. */
(function () {
  "use strict";
  var yaml = window.jsyaml, fflate = window.fflate;
  var TOP = ["title", "complaint", "outcome", "job", "company", "site", "furnace", "blower", "filter", "coil",
    "return", "supply", "changed lately", "visits", "follow up", "customer", "answered", "private"];
  var STEP = ["do", "why", "minutes", "after", "mode", "state", "with", "read", "seen", "changed", "photo", "log", "told"];
  var MOST_FILES = 200, MOST_BYTES = 200e6;

  function filled(value) {
    if (Array.isArray(value)) { return value.length > 0; }
    if (value && typeof value === "object") { return Object.keys(value).length > 0; }
    return value !== undefined && value !== null && value !== "";
  }
  /* Without what was left empty, and with known keys in the order in which people read them. */
  function tidy(value, order) {
    if (Array.isArray(value)) { return value.map(function (one) { return tidy(one, STEP); }).filter(filled); }
    if (!value || typeof value !== "object") { return value; }
    var out = {}, keys = Object.keys(value), rank = function (key) { var n = (order || []).indexOf(key); return n < 0 ? 99 : n; };
    keys.map(function (key, n) { return [rank(key), n, key]; })
      .sort(function (a, b) { return a[0] - b[0] || a[1] - b[1]; })
      .forEach(function (one) {
        var inner = tidy(value[one[2]]);
        if (filled(inner)) { out[one[2]] = inner; }
      });
    return out;
  }

  window.causebookSheetFile = {
    tidy: function (call) { return tidy(call, TOP); },
    text: function (call) {
      return yaml.dump(tidy(call, TOP), { schema: yaml.JSON_SCHEMA, lineWidth: 116, noRefs: true, flowLevel: -1, noCompatMode: true });
    },
    parse: function (text) {
      var call = yaml.load(text, { schema: yaml.FAILSAFE_SCHEMA });
      if (!call || typeof call !== "object" || Array.isArray(call)) { throw new Error("This is not a case file."); }
      return call;
    },
    /* files: name -> Uint8Array.  Pictures are small already, so they are stored as they are. */
    zip: function (call, files) {
      var held = { "case.yml": fflate.strToU8(this.text(call)) }, when = new Date(2000, 0, 1);
      Object.keys(files).sort().forEach(function (name) { held[name] = [files[name], { level: /\.csv$/.test(name) ? 6 : 0 }]; });
      return fflate.zipSync(held, { level: 6, mtime: when });
    },
    unzip: function (bytes) {
      var count = 0, size = 0;
      var held = fflate.unzipSync(bytes, { filter: function (file) {
        count += 1;
        size += file.originalSize;
        if (count > MOST_FILES || size > MOST_BYTES) { throw new Error("This zip holds too much."); }
        return /^(case\.yml|photos\/[^/\\]+|logs\/[^/\\]+)$/.test(file.name);
      } });
      if (!held["case.yml"]) { throw new Error("This zip holds no case.yml."); }
      var call = this.parse(fflate.strFromU8(held["case.yml"]));
      delete held["case.yml"];
      return { call: call, files: held };
    },
    /* A name that a folder may have: the day and the title, in small letters. */
    name: function (call) {
      var day = ((call.visits || [{}])[0].date || "").slice(0, 10);
      var words = (call.title || call.complaint && call.complaint.family || "call").toLowerCase().normalize("NFKD")
        .replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "").split("-").slice(0, 6).join("-");
      return (day ? day + "-" : "") + (words || "call");
    }
  };
})();
