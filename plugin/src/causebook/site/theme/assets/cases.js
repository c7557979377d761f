/* What the pages that list cases share: the facet table, and how one case is shown in a list. */
(function () {
  "use strict";

  /* `base` leads from the page to the folder of the cases. */
  window.causebookCases = function (table, base) {
    var stopped = {};
    table.stopped.forEach(function (i) { stopped[i] = true; });

    function make(tag, text, attributes) {
      var element = document.createElement(tag);
      if (text) { element.textContent = text; }
      Object.keys(attributes || {}).forEach(function (name) { element.setAttribute(name, attributes[name]); });
      return element;
    }
    function names(column, i) {
      return table[column].of[i].map(function (code) { return table[column].words[code]; });
    }
    function link(i) {
      return make("a", table.title[i], { href: base + table.id[i].split("/").map(encodeURIComponent).join("/") + "/index.html" });
    }
    function item(i) {
      var entry = make("li"), line = make("span", "", { "class": "cb-line" });
      entry.appendChild(link(i));
      if (stopped[i]) { line.appendChild(make("strong", "out of service", { "class": "cb-stopped" })); }
      line.appendChild(document.createTextNode((stopped[i] ? " " : "") + table.line[i]));
      entry.appendChild(line);
      return entry;
    }
    return { make: make, names: names, link: link, item: item };
  };
})();
