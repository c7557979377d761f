/* How near past cases are to what somebody knows: the same measure as library/likeness.py and find.py, number for
   number, over the index that find_index.py writes.  No page is touched here. */
(function () {
  "use strict";

  window.causebookNearness = function (index, ids) {
    var pairs = index.pairs, numberOf = {}, valuesOf = {};
    pairs.forEach(function (pair, i) { numberOf[pair[0] + "=" + pair[1]] = i; });
    var roots = index.root.ids, findingIds = Object.keys(index.findings);
    var familyOf = index.of.map(function (of) {
      for (var n = 0; n < of.length; n += 1) { if (pairs[of[n]][0] === "complaint") { return pairs[of[n]][1]; } }
      return null;
    });
    var logs = roots.map(function (root) {
      return findingIds.map(function (id) {
        var chance = chanceOf(root, id);
        return [Math.log(chance), Math.log(1 - chance)];
      });
    });
    var place = {};
    findingIds.forEach(function (id, i) { place["finding " + id] = i; });
    var openBelief = {};
    Object.keys(index.read).forEach(function (id) {
      var which = 0, of = valuesOf[id] = {};
      index.read[id][0].forEach(function (step, i) { which += step; of[which] = index.read[id][1][i]; });
    });
    var asks = {};
    index.asks.forEach(function (ask) { asks[ask.id] = ask; });
    var vectors = window.causebookVectors(index, asks, judge);
    var pointsOf = ids.map(function (_, i) {
      var read = {};
      Object.keys(valuesOf).forEach(function (id) { if (i in valuesOf[id]) { read[id] = valuesOf[id][i]; } });
      return vectors.points(read);
    });
    index.root.of.forEach(function (of, i) { if (!of.length) { openBelief[i] = belief(featuresOf(i), pointsOf[i]); } });

    function chanceOf(root, finding) {
      var cause = index.causes[root], leak = index.findings[finding][3];
      var chance = cause && finding in cause[1] ? cause[1][finding] : leak;
      return Math.min(Math.max(chance, index.least), 1 - index.least);
    }
    function featuresOf(i) {
      var features = {};
      index.of[i].forEach(function (n) { features[pairs[n][0]] = pairs[n][1]; });
      return features;
    }
    function weight(feature, value) {
      var n = numberOf[feature + "=" + value];
      return n === undefined ? index.rare[feature] || 0 : pairs[n][2];
    }

    /* ---- numbers to findings */

    function judge(typed) {
      var found = {}, chances = {};
      index.lines.forEach(function (line) {
        if (!canSpeak(line, typed) || (line.finding in chances && !line.strongest)) { return; }
        if (!line.given.every(function (one) { return canSpeak(one, typed) && lineChance(one, typed) > 0.5; })) { return; }
        var chance = lineChance(line, typed);
        if (line.only && (chance >= 0.5) !== (line.only === "present")) { return; }
        chances[line.finding] = Math.max(chance, chances[line.finding] || 0);
      });
      Object.keys(chances).forEach(function (finding) {
        var chance = chances[finding];
        if (chance > index.present || chance < index.absent) { found[finding] = chance > index.present; }
      });
      return found;
    }
    function canSpeak(line, typed) {
      return Object.keys(line.terms).every(function (id) { return id in typed; });
    }
    function lineChance(line, typed) {
      var total = 0, square = 0;
      Object.keys(line.terms).forEach(function (id) {
        var ask = asks[id], value = vectors.meant(id, typed[id]);
        total += line.terms[id] * value;
        square += Math.pow(line.terms[id] * Math.hypot(ask.relative * value, ask.fixed), 2);
      });
      return above(total, line.spread * (line.sd === null ? Math.sqrt(square) : line.sd), line.limit);
    }
    function remarks(typed) {
      return index.lines.filter(function (line) {
        return line.otherwise && line.given.some(function (one) { return canSpeak(one, typed) && lineChance(one, typed) <= 0.5; });
      }).map(function (line) { return line.otherwise; });
    }
    /* Of typed numbers those that cannot be: its bounds (""), or what it lies below (an entry of `neverBelow`). */
    function wrong(typed) {
      var out = {};
      Object.keys(typed).forEach(function (id) {
        var ask = asks[id], value = typed[id];
        if ((ask.low !== null && (value < ask.low || (ask.above && value === ask.low))) || (ask.high !== null && value > ask.high)) { out[id] = ""; }
      });
      index.neverBelow.forEach(function (never) {
        var both = never.slice(0, 2).every(function (id) { return id in typed && !(id in out); });
        if (both && typed[never[0]] < typed[never[1]]) { out[never[0]] = never; }
      });
      return out;
    }
    /* The stops that fire and that no higher one silences, as library/stopping.py has them: [stop, the way it fires]. */
    function stops(findings, typed) {
      var told = index.stops.map(function (stop) {
        return [stop, stop.ways.find(function (way) {
          return way.finding ? findings[way.finding]
            : way.reading in typed && way.factor * (typed[way.reading] - (typed[way.minus] || 0)) >= way.least;
        })];
      }).filter(function (pair) { return pair[1]; });
      return told.filter(function (pair) {
        return !told.some(function (other) { return other[0].covers.indexOf(pair[0].id) >= 0; });
      });
    }
    /* May a finding be looked for while these stops are open: is there a test that none of them forbids? */
    function allowed(finding, halts) {
      var tests = index.looks[finding];
      return !tests || tests.some(function (n) {
        return !halts.some(function (pair) { return pair[0].bars.indexOf(n) >= 0; });
      });
    }
    function above(number, spread, limit) {
      return 0.5 * (1 + erf((number - limit) / (Math.SQRT2 * Math.max(spread, 1e-12))));
    }
    /* Abramowitz and Stegun, Handbook of Mathematical Functions, 7.1.26: error below 1.5e-7 (from memory). */
    function erf(x) {
      var t = 1 / (1 + 0.3275911 * Math.abs(x));
      var y = 1 - ((((1.061405429 * t - 1.453152027) * t + 1.421413741) * t - 0.284496736) * t + 0.254829592) * t * Math.exp(-x * x);
      return x < 0 ? -y : y;
    }

    /* ---- what is known to nearness */

    function features(query, findings) {
      var known = {};
      Object.keys(findings).forEach(function (id) { known["finding " + id] = findings[id] ? "present" : "absent"; });
      Object.keys(query.facts || {}).forEach(function (name) { known["fact " + name] = query.facts[name]; });
      if (query.family) { known.complaint = query.family; }
      return known;
    }
    function often(family) {
      var count = roots.map(function () { return 0; });
      index.root.of.forEach(function (of, i) {
        of.forEach(function (root) { count[root] += index.other + (family && familyOf[i] === family ? 1 : 0); });
      });
      return count;
    }
    function belief(known, points) {
      var shares = often(known.complaint).map(function (count) { return Math.log(Math.max(count, index.sums)); });
      var most = -Infinity, sum = 0;
      Object.keys(known).forEach(function (feature) {
        if (!(feature in place)) { return; }
        var which = known[feature] === "present" ? 0 : 1;
        for (var r = 0; r < roots.length; r += 1) { shares[r] += logs[r][place[feature]][which]; }
      });
      points.forEach(function (point, n) { if (point) { byNumber(n, point, shares); } });
      shares.forEach(function (share) { most = Math.max(most, share); });
      shares = shares.map(function (share) { return Math.exp(share - most); });
      shares.forEach(function (share) { sum += share; });
      return shares.map(function (share) { return share / sum; });
    }
    /* Adds to the logarithms of the shares how much closer a number lies to the cases with each root than to all. */
    function byNumber(n, point, shares) {
      var all = 0, number = 0, of = shares.map(function () { return [0, 0]; });
      pointsOf.forEach(function (there, i) {
        if (!there[n]) { return; }
        var close = vectors.closeness(n, point, there[n]) + index.far;
        all += close;
        number += 1;
        index.root.of[i].forEach(function (root) { of[root][0] += close; of[root][1] += 1; });
      });
      if (!number) { return; }
      var usual = all / number + index.sums;
      of.forEach(function (pair, root) { shares[root] += Math.log((pair[0] + usual) / (pair[1] + 1) / usual); });
    }
    function trust(believed, i) {
      var of = index.root.of[i], best = 0;
      if (!of.length) {
        openBelief[i].forEach(function (share, r) { best += share * believed[r]; });
        return best;
      }
      of.forEach(function (root) { best = Math.max(best, believed[root]); });
      return best;
    }
    function likeness(known, points, i) {
      var agree = 0, differ = 0, alone = 0, met = {}, same = [], different = [], nearest = 0;
      index.of[i].forEach(function (n) {
        var feature = pairs[n][0], here = pairs[n][2], mine = known[feature];
        if (mine === undefined) { alone += here; return; }
        met[feature] = true;
        if (mine === pairs[n][1] && mine === "absent") { return; }
        if (mine === pairs[n][1]) {
          agree += here;
          same.push([feature, here]);
        } else {
          var both = (here + weight(feature, mine)) / 2;
          differ += both;
          different.push([feature, both]);
        }
      });
      Object.keys(known).forEach(function (feature) {
        if (!met[feature]) { alone += weight(feature, known[feature]); }
      });
      points.forEach(function (point, n) {
        var there = pointsOf[i][n];
        if (point && there) {
          var close = vectors.closeness(n, point, there);
          agree += index.number * close;
          differ += index.number * (1 - close);
          nearest = Math.max(nearest, close);
        } else if (point || there) {
          alone += index.number;
        }
      });
      var ground = agree + differ + index.alone * alone;
      return { value: Math.max(agree - differ, 0) / (ground > 0 ? ground : 1), same: heaviest(same),
        differ: heaviest(different), nearest: nearest };
    }
    function heaviest(weighed) {
      return weighed.sort(function (a, b) { return b[1] - a[1] || (a[0] < b[0] ? -1 : 1); })
        .map(function (pair) { return pair[0]; });
    }
    function rounded(value) { return Math.round(value * 1e9) / 1e9; }

    function find(query, count) {
      var typed = query.typed || {}, seen = query.seen || {}, fuel = (query.facts || {}).fuel, judged = judge(typed), present = {};
      var assumed = vectors.assumed(typed, fuel), barred = vectors.barred(typed, seen), absent = {};
      Object.keys(barred).forEach(function (id) { absent[id] = false; });
      var findings = Object.assign({}, assumed, judged, absent, seen);
      [judged, seen].forEach(function (said) { Object.keys(said).forEach(function (id) { present[id] = present[id] || said[id]; }); });
      var halts = stops(present, typed), known = features(query, findings), points = vectors.points(typed);
      var found = { findings: findings, known: known, stops: halts, like: [], other: null, between: [], apart: [],
        assumed: Object.keys(assumed).filter(function (id) { return !(id in seen); }), plates: vectors.platesFor(typed, fuel),
        beyond: vectors.beyond(typed, fuel), contradicts: vectors.contradicted(typed), fits: fits(query.family || "", findings, halts) };
      if (halts.some(function (pair) { return pair[0].leave; })) {
        return Object.assign(found, { leave: true, assumed: [], plates: [], contradicts: [], fits: [] });
      }
      if (!index.of.length || !(Object.keys(known).length || points.some(Boolean))) { return found; }
      var believed = belief(known, points);
      var ranked = index.of.map(function (of, i) {
        var like = likeness(known, points, i), there = featuresOf(i);
        var story = like.nearest >= index.close || like.same.some(function (feature) { return feature.indexOf("fact ") !== 0; });
        var out = Object.keys(barred).some(function (id) { return there["finding " + id] === "present"; });
        return [i, !out && (story || like.value > index.sums) ? rounded((1 - index.trust) * like.value + index.trust * trust(believed, i)) : 0];
      }).filter(function (pair) { return pair[1] > 0; });
      ranked.sort(function (a, b) { return b[1] - a[1] || (ids[a[0]] < ids[b[0]] ? -1 : 1); });
      var near = function (pair) {
        var word = index.words.find(function (one) { return pair[1] >= one[0]; })[1];
        return Object.assign({ i: pair[0], nearness: pair[1], word: word }, likeness(known, points, pair[0]));
      };
      var rooted = ranked.filter(function (pair) { return index.root.of[pair[0]].length; });
      var one = rooted[0];
      var other = one && rooted.find(function (pair) {
        return !index.root.of[pair[0]].some(function (root) { return index.root.of[one[0]].indexOf(root) >= 0; });
      });
      return Object.assign(found, {
        like: ranked.slice(0, count).map(near), other: other ? near(other) : null,
        between: other ? [one[0], other[0]] : [], apart: other ? tellApart(one[0], other[0], findings, halts) : []
      });
    }

    /* ---- the causes that fit best by the knowledge, as best_fitting() of library/beginning.py */

    function fits(family, findings, halts) {
      var share = {}, chance = {}, mean = {}, whole = 0;
      Object.keys(index.causes).forEach(function (id) {
        var priors = index.causes[id][2], often = 0;
        Object.keys(priors).forEach(function (one) { if (!family || one === family) { often += priors[one]; } });
        if (!(often > 0)) { return; }
        chance[id] = {};
        findingIds.forEach(function (finding) { chance[id][finding] = chanceOf(id, finding); });
        share[id] = often;
        Object.keys(findings).forEach(function (finding) {
          if (finding in chance[id]) { share[id] *= findings[finding] ? chance[id][finding] : 1 - chance[id][finding]; }
        });
        whole += share[id];
      });
      whole = whole || 1;
      findingIds.forEach(function (finding) {
        mean[finding] = 0;
        Object.keys(share).forEach(function (id) { mean[finding] += share[id] * chance[id][finding] / whole; });
      });
      return Object.keys(share).sort(function (a, b) {
        return rounded(share[b] / whole) - rounded(share[a] / whole) || (a < b ? -1 : 1);
      }).slice(0, 5).map(function (id) {
        var links = index.causes[id][1], best = "", most = 0;
        Object.keys(links).forEach(function (finding) {
          var tells = finding in findings ? 0 : rounded(links[finding] * Math.log(links[finding] / mean[finding]));
          if (tells > most || tells > 0 && tells === most && finding < best) { best = finding; most = tells; }
        });
        return { cause: id, share: share[id] / whole, tells: allowed(best, halts) ? best : "" };
      });
    }

    /* ---- what would tell two cases apart */

    function tellApart(one, other, findings, halts) {
      var here = featuresOf(one), there = featuresOf(other), apart = [], expected = [];
      findingIds.forEach(function (id) {
        if (id in findings || !allowed(id, halts)) { return; }
        var feature = "finding " + id, a = here[feature], b = there[feature];
        if (a && b && a !== b) {
          apart.push({ finding: id, speaksFor: a === "present" ? one : other, seen: true,
            by: rounded(weight(feature, "present") + weight(feature, "absent")) });
        } else {
          var gap = shown(one, id) - shown(other, id);
          if (Math.abs(gap) >= index.gap) {
            expected.push({ finding: id, speaksFor: gap > 0 ? one : other, seen: false, by: rounded(Math.abs(gap)) });
          }
        }
      });
      var order = function (a, b) { return b.by - a.by || (a.finding < b.finding ? -1 : 1); };
      return apart.sort(order).concat(expected.sort(order)).slice(0, 3);
    }
    function shown(i, finding) {
      return Math.max.apply(null, index.root.of[i].map(function (root) { return chanceOf(roots[root], finding); }));
    }

    return { find: find, judge: judge, wrong: wrong, meant: vectors.meant, remarks: remarks, features: featuresOf,
      read: function (id, i) { return (valuesOf[id] || {})[i]; }, asks: asks };
  };
})();
