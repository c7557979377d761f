/* The full text of all pages, by Pagefind: only where the site is served and its index was built, and only when asked
   for.  What the pages are is found without it (seek.js). */
(function () {
  "use strict";
  var PATIENCE = 8000;

  /* `search(text, most)` promises the first pages that have these words, with excerpts; it fails when it cannot run. */
  window.causebookText = function (base) {
    var engine = null;
    function start() {
      engine = engine || import(new URL(base + "pagefind/pagefind.js", location.href).href).then(function (pagefind) {
        return pagefind.options({ excerptLength: 24 }).then(function () { return pagefind.init(); }).then(function () { return pagefind; });
      });
      return engine;
    }
    /* Pagefind's excerpt is escaped text with <mark>: taken apart by the browser's own reader, never put in as HTML. */
    function marked(excerpt) {
      var read = new DOMParser().parseFromString(excerpt, "text/html").body;
      return Array.prototype.map.call(read.childNodes, function (node) {
        return { text: node.textContent, marked: node.nodeName === "MARK" };
      });
    }
    function late() {
      return new Promise(function (resolve, reject) { setTimeout(function () { reject(new Error("late")); }, PATIENCE); });
    }
    return {
      search: function (text, most) {
        return Promise.race([late(), start().then(function (pagefind) { return pagefind.search(text); }).then(function (found) {
          return Promise.all(found.results.slice(0, most).map(function (result) { return result.data(); })).then(function (pages) {
            return pages.map(function (page) { return { url: page.url, title: page.meta.title, excerpt: marked(page.excerpt) }; });
          });
        })]);
      }
    };
  };
})();
