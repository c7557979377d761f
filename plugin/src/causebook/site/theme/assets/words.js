/* Words, in the best way this page can look for them.

   Pagefind where the site is served and its index was built: the text of all cases and handbook pages, with excerpts.
   MiniSearch over the facet table and a summary of the handbook where that cannot be: from a folder, without an
   index, or when it fails.  Where neither runs, the caller is told, and has the facet table. */
(function () {
  "use strict";
  var PATIENCE = 8000;

  /* Calls `say` with a sentence about what is searched.  `search(phrases, how)` promises {pages, count} of what has all
     words of any phrase, or null; `how` holds `filters` and `sort` for Pagefind, the same as `fits(page)` and `before(page, page)` for the summaries, and
     `most`, the number of pages wanted. */
  window.causebookWords = function (table, base, say) {
    var engine = null;

    /* A script only loaded when it is needed; from a folder too. */
    function load(path) {
      return new Promise(function (resolve, reject) {
        var script = document.createElement("script");
        script.src = base + path;
        script.onload = resolve;
        script.onerror = reject;
        document.head.appendChild(script);
      });
    }
    function summaries() {
      return Promise.all([load("assets/vendor/minisearch.js"), load("find/summaries.js")]).then(summarised).catch(function () {
        say("Only titles, roots and findings are searched here: the text search could not be started.");
        return null;
      });
    }
    function summarised() {
      var mini = new window.MiniSearch({
        fields: ["title", "text"], storeFields: ["i", "url", "title", "text"],
        searchOptions: { prefix: true, fuzzy: 0.15, combineWith: "AND", boost: { title: 3 } }
      });
      mini.addAll(table.id.map(function (id, i) {
        var named = ["root", "helped by", "complaint", "found"].map(function (column) {
          return table[column].of[i].map(function (code) { return table[column].words[code]; }).join("; ");
        });
        return { id: "c" + i, i: i, title: table.title[i], text: [window.causebookSummaries.said[i]].concat(named).filter(Boolean).join(". ") };
      }));
      mini.addAll(window.causebookSummaries.handbook.map(function (page, n) { return { id: "h" + n, url: page[0], title: page[1], text: page[2] }; }));
      return function (phrases, how) {
        var all = phrases.map(function (phrase) { return { combineWith: "AND", queries: [phrase] }; });
        var hits = mini.search({ combineWith: "OR", queries: all }).filter(how.fits);
        if (how.before) { hits.sort(how.before); }
        return Promise.resolve({ count: hits.length, pages: hits.slice(0, how.most).map(function (hit) {
          return { i: hit.i, url: hit.url && base + hit.url, title: hit.title, excerpt: cut(hit.text, hit.terms) };
        }) });
      };
    }
    /* A stretch of text about the first word found, the words found marked. */
    function cut(text, terms) {
      var at = terms.map(function (term) { return text.toLowerCase().indexOf(term); }).filter(function (n) { return n >= 0; });
      var from = Math.max(0, Math.min.apply(null, at.concat([text.length])) - 60);
      if (from > text.length - 40) { from = 0; }
      var start = from ? text.indexOf(" ", from) + 1 : 0;
      var piece = (start ? "… " : "") + text.slice(start, start + 180) + (start + 180 < text.length ? " …" : "");
      return [{ text: piece, marked: false }];
    }

    function full() {
      if (location.protocol === "file:") {
        say("From a folder, summaries of cases and handbook are searched; the whole text is searched where the site is served.");
        return summaries();
      }
      return import(new URL(base + "pagefind/pagefind.js", location.href).href).then(function (pagefind) {
        return pagefind.options({ excerptLength: 24 }).then(function () { return pagefind.init(); }).then(function () {
          say("");
          return function (phrases, how) { return asked(pagefind, phrases, how); };
        });
      }).catch(function () {
        say("The whole text is not indexed here, or its index cannot be reached; summaries of cases and handbook are searched.");
        return summaries();
      });
    }
    /* Each phrase is asked for by itself, in order; the first pages of all are among the first of each. */
    function asked(pagefind, phrases, how) {
      return Promise.all(phrases.map(function (phrase) {
        return pagefind.search(phrase, { filters: how.filters, sort: how.sort });
      })).then(function (answers) {
        var every = {}, first = {};
        answers.forEach(function (answer) {
          answer.results.forEach(function (result, n) {
            every[result.id] = true;
            if (n < how.most) { first[result.id] = first[result.id] || result; }
          });
        });
        return Promise.all(Object.keys(first).map(function (id) {
          return first[id].data().then(function (page) {
            var i = table.id.indexOf(page.meta.case || "");
            return { i: i < 0 ? undefined : i, url: page.url, title: page.meta.title, excerpt: marked(page.excerpt), score: first[id].score };
          });
        })).then(function (pages) {
          pages.sort(how.before || function (a, b) { return b.score - a.score; });
          return { count: Object.keys(every).length, pages: pages.slice(0, how.most) };
        });
      });
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
      start: function () {
        engine = engine || full();
        return engine;
      },
      search: function (phrases, how) {
        return this.start().then(function (search) {
          return search ? Promise.race([search(phrases, how), late()]) : null;
        }).catch(function () {
          say("The text search gave no answer; titles, roots and findings are searched instead.");
          return null;
        });
      }
    };
  };
})();
