/* The search in words, codes and readings: the same as library/spoken.py and library/search.py, rule for rule, over the
   index that library/seek_index.py writes.  No page is touched here. */
(function () {
  "use strict";

  var MOST_WEIGHT = 8, SAID = 2, BEGUN = 0.9, EXACT = 3, LEAST_SHARE = 0.25;
  var WHERE = { complaint: 1, cause: 1, "case": 0.95, page: 0.8 };
  var PART = /[-−]?\d[\d,]*\.?\d*[a-z%]*|[-−]?\.\d+[a-z%]*|[a-z][a-z0-9]*|%/g;
  var NUMBER = /^([-−]?(?:\d[\d,]*\.?\d*|\.\d+))([a-z%]*)$/, CODE = /^[a-z]{1,2}\d{1,3}$/;

  function set(words) {
    var out = Object.create(null);
    words.forEach(function (word) { out[word] = true; });
    return out;
  }
  function table(of) { return Object.assign(Object.create(null), of); }
  function rounded(value) { return Math.round(value * 1e9) / 1e9; }
  function less(a, b) { return a < b ? -1 : a > b ? 1 : 0; }

  window.causebookSeek = function (index) {
    var docs = index.docs, fillers = set(index.fillers), negatives = set(index.negatives), between = set(index.between);
    var unitWords = set(index.unitWords), codeWords = set(index.codeWords);
    var synonyms = table(index.synonyms), phrases = table(index.phrases), alarms = table(index.alarms), meters = table(index.meters);
    var codesOf = table(index.codes), terms = Object.create(null), ours = Object.create(null), every = Math.log(1 + docs.length);
    Object.keys(index.terms).forEach(function (term) {
      var of = index.terms[term], having = new Map();
      for (var n = 0; n < of.length; n += 2) { having.set(of[n], of[n + 1]); }
      terms[term] = having;
    });
    Object.keys(phrases).forEach(function (phrase) {
      var put = putOurs(phrase.split(" ")).join(" ");
      ours[put] = (ours[put] || []).concat(phrases[phrase]);
    });
    var longest = {};
    [["said", phrases], ["ours", ours], ["alarms", alarms]].forEach(function (pair) {
      longest[pair[0]] = Math.max.apply(null, Object.keys(pair[1]).map(function (phrase) { return phrase.split(" ").length; }).concat([0]));
    });

    /* ---- words */

    function plain(text) { return text.toLowerCase().replace(/[µμ]/g, "u"); }
    function rawWords(text) {
      return plain(text).replace(/['’`]/g, "").replace(/\b([a-z])[-/]([a-z])/g, "$1$2").match(/[a-z0-9]+/g) || [];
    }
    function stems(text) {
      var raw = rawWords(text), told = raw.filter(function (word) { return !fillers[word]; });
      return (told.length ? told : raw).map(stem);
    }
    function stem(word) {
      if (negatives[word]) { return "no"; }
      if (word.length > 3 && /s$/.test(word) && !/(ss|us|is)$/.test(word)) { word = word.slice(0, -1); }
      ["ing", "ed"].some(function (ending) {
        if (!word.endsWith(ending) || word.length - ending.length <= 3) { return false; }
        word = word.slice(0, -ending.length);
        var last = word.charAt(word.length - 1);
        if (last === word.charAt(word.length - 2) && "ls".indexOf(last) < 0) { word = word.slice(0, -1); }
        return true;
      });
      return word.length > 4 && /e$/.test(word) ? word.slice(0, -1) : word;
    }
    function apart(one, other, most) {
      if (Math.abs(one.length - other.length) > most) { return most + 1; }
      var earlier, before = [], row = [];
      for (var k = 0; k <= other.length; k += 1) { row.push(k); }
      for (var i = 1; i <= one.length; i += 1) {
        earlier = before;
        before = row;
        row = [i];
        for (var j = 1; j <= other.length; j += 1) {
          var least = Math.min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (one[i - 1] === other[j - 1] ? 0 : 1));
          if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]) { least = Math.min(least, earlier[j - 2] + 1); }
          row.push(least);
        }
        if (Math.min.apply(null, row) > most) { return most + 1; }
      }
      return row[row.length - 1];
    }
    function runs(words, of, most) {
      var out = [];
      for (var start = 0; start < words.length; start += 1) {
        for (var size = 1; size <= Math.min(most, words.length - start); size += 1) {
          var run = words.slice(start, start + size).join(" ");
          if (of[run]) { out.push([run, size]); }
        }
      }
      return out;
    }

    /* ---- readings and codes */

    function number(part) {
      var found = NUMBER.exec(part);
      if (!found || found[2] && !unitWords[found[2]]) { return null; }
      return [parseFloat(found[1].replace(/,/g, "").replace("−", "-")), found[2]];
    }
    function bare(unit) { return plain(unit).replace(/[^a-z0-9%]/g, ""); }
    function readings(text) {
      var parts = plain(text).replace(/°/g, " ").replace(/['’`]/g, "").match(PART) || [], typed = {}, gone = {};
      var numbers = parts.map(number), behind = Boolean(numbers[0]);
      numbers.forEach(function (one, n) {
        if (!one) { return; }
        var after = n + 1, names, found;
        while (after < parts.length && unitWords[parts[after]] && !numbers[after]) { after += 1; }
        names = [namedBefore(parts, n, gone), namedFrom(parts, n + 1, gone), namedFrom(parts, after, gone)];
        if (behind) { names.push(names.shift()); }
        found = names.find(Boolean);
        if (!found) { return; }
        var units = index.asks[found[0]][1], said = one[1] ? [one[1]] : [3, 2, 1].map(function (size) { return parts.slice(n + 1, n + 1 + size).join(""); });
        var unit = units[0];
        said.some(function (words) {
          var which = words && units.find(function (u) { return bare(words) === bare(u[0]) || u[4].indexOf(bare(words)) >= 0; });
          if (which) { unit = which; }
          return which;
        });
        typed[found[0]] = { value: unit[1] * one[0] + unit[2], text: String(one[0]), unit: units.indexOf(unit) };
        var free = true;
        for (var i = n + 1; i < after; i += 1) { free = free && !found[1][i]; }
        gone[n] = true;
        Object.keys(found[1]).forEach(function (place) { gone[place] = true; });
        for (i = n + 1; free && i < after; i += 1) { gone[i] = true; }
      });
      return [typed, parts.filter(function (_, n) { return !gone[n]; }).join(" ")];
    }
    function namedBefore(parts, n, gone) {
      var end = n;
      while (end > 0 && between[parts[end - 1]]) { end -= 1; }
      return named(parts, gone, Math.min(6, end), function (size) { return end - size; }, n);
    }
    function namedFrom(parts, n, gone) {
      return named(parts, gone, Math.min(6, parts.length - n), function () { return n; }, 0);
    }
    /* The longest name of a reading whose place `from(size)` gives; what lies up to `joined` belongs to it. */
    function named(parts, gone, most, from, joined) {
      for (var size = most; size > 0; size -= 1) {
        var start = from(size), ask = meters[parts.slice(start, start + size).join(" ")], places = {}, free = true;
        for (var i = start; i < start + size; i += 1) { places[i] = true; free = free && !gone[i]; }
        if (ask && free) {
          for (i = start + size; i < joined; i += 1) { places[i] = true; }
          return [ask, places];
        }
      }
      return null;
    }
    function codes(text) {
      var parts = rawWords(text), said = parts.some(function (part) { return codeWords[stem(part)]; });
      var out = parts.filter(function (part) {
        return codesOf[part] || /^\d+$/.test(part) && said || CODE.test(part) && !terms[stem(part)] && !synonyms[part];
      });
      return [out, parts.filter(function (part) { return out.indexOf(part) < 0 && !(out.length && codeWords[stem(part)]); }).join(" ")];
    }

    /* ---- pages */

    function putOurs(words) {
      var out = [], n = 0;
      while (n < words.length) {
        var size = Math.min(4, words.length - n);
        while (size > 0 && !synonyms[words.slice(n, n + size).join(" ")]) { size -= 1; }
        out = out.concat(size ? synonyms[words.slice(n, n + size).join(" ")].split(" ") : [words[n]]);
        n += size || 1;
      }
      return out;
    }
    function slotsOf(words, instead) {
      var out = [], n = 0;
      while (n < words.length) {
        var size = Math.min(4, words.length - n);
        while (size > 0 && !synonyms[words.slice(n, n + size).join(" ")]) { size -= 1; }
        if (size) {
          out.push([words.slice(n, n + size), synonyms[words.slice(n, n + size).join(" ")].split(" ")]);
          n += size;
          continue;
        }
        var word = words[n], starts;
        n += 1;
        if (terms[word]) {
          out.push([[word]]);
        } else if (/^\d+$/.test(word)) {
          continue;
        } else if (n === words.length && word.length > 2 && (starts = begun(word)).length) {
          out.push(starts.map(function (one) { return [one]; }));
        } else {
          instead[word] = nearest(word);
          out.push(instead[word] ? [[instead[word]]] : []);
        }
      }
      return out;
    }
    function begun(word) {
      return Object.keys(terms).filter(function (term) { return term.indexOf(word) === 0; }).sort(function (a, b) {
        return terms[b].size - terms[a].size || less(a, b);
      }).slice(0, 8);
    }
    function nearest(word) {
      var most = word.length < 4 ? 0 : word.length < 7 ? 1 : 2, best = null;
      Object.keys(terms).forEach(function (term) {
        var one = [apart(word, term, most), -terms[term].size, term];
        if (one[0] <= most && (!best || (one[0] - best[0] || one[1] - best[1] || less(term, best[2])) < 0)) { best = one; }
      });
      return best ? best[2] : "";
    }
    function idf(word) { return terms[word] ? Math.log(1 + docs.length / terms[word].size) : every; }
    function said(words) {
      var out = new Map(), put = putOurs(words);
      [[words, phrases, longest.said], [put, ours, longest.ours]].forEach(function (one) {
        runs(one[0], one[1], one[2]).forEach(function (run) {
          one[1][run[0]].forEach(function (doc) { out.set(doc, Math.max(out.get(doc) || 0, run[1] / one[0].length)); });
        });
      });
      return out;
    }
    function pages(words, asked, instead) {
      var slots = slotsOf(words, instead), scores = new Map(), full = new Map(), whole = 0, exact = set([]), all = set([]);
      slots.forEach(function (ways) {
        var best = new Map(), complete = new Map(), worth = 0;
        ways.forEach(function (way) {
          var sum = 0, reached = new Map(), met = new Map();
          way.forEach(function (word) {
            var by = idf(word);
            sum += by;
            (terms[word] || new Map()).forEach(function (weight, doc) {
              reached.set(doc, (reached.get(doc) || 0) + by * weight);
              met.set(doc, (met.get(doc) || 0) + 1);
            });
          });
          worth = Math.max(worth, sum / way.length);
          reached.forEach(function (value, doc) {
            best.set(doc, Math.max(best.get(doc) || 0, value / way.length / MOST_WEIGHT));
            if (met.get(doc) === way.length) { complete.set(doc, true); }
          });
        });
        whole += worth || every;
        best.forEach(function (value, doc) { scores.set(doc, (scores.get(doc) || 0) + value); });
        complete.forEach(function (_, doc) { full.set(doc, (full.get(doc) || 0) + 1); });
      });
      var meant = said(words.map(function (word) { return instead[word] || word; }));
      if (words.length > 1 && !terms[words[words.length - 1]]) {
        Object.keys(phrases).forEach(function (phrase) {
          if (phrase.indexOf(words.join(" ")) === 0) {
            phrases[phrase].forEach(function (doc) { meant.set(doc, Math.max(meant.get(doc) || 0, BEGUN)); });
          }
        });
      }
      asked.forEach(function (code) { (codesOf[code] || []).forEach(function (doc) { exact[doc] = true; }); });
      [scores, meant].forEach(function (of) { of.forEach(function (_, doc) { all[doc] = true; }); });
      return Object.keys(Object.assign(all, exact)).map(Number).map(function (doc) {
        var where = WHERE[docs[doc][0]], share = scores.has(doc) ? where * scores.get(doc) / whole : 0, told = meant.get(doc) || 0;
        if (share < LEAST_SHARE * where / 4 && !told && !exact[doc]) { return null; }
        return { doc: doc, kind: docs[doc][0], id: docs[doc][1], address: docs[doc][2], title: docs[doc][3], line: docs[doc][4],
          score: rounded(SAID * told + share + (exact[doc] ? EXACT : 0)),
          whole: Boolean(exact[doc] || told === 1 || slots.length && full.get(doc) === slots.length) };
      }).filter(Boolean).sort(function (a, b) { return b.score - a.score || a.doc - b.doc; });
    }

    return {
      ask: function (text) {
        var stops = [], instead = {}, read = readings(text), coded = codes(read[1]);
        runs(stems(text), alarms, longest.alarms).forEach(function (run) {
          alarms[run[0]].forEach(function (id) { if (stops.indexOf(id) < 0) { stops.push(id); } });
        });
        var hits = pages(coded[1].trim() ? stems(coded[1]) : [], coded[0], instead);
        return { stops: stops, typed: read[0], codes: coded[0], hits: hits, instead: instead };
      },
      stops: index.stops, asks: index.asks
    };
  };
})();
