/* Calls as points, and what numbers say on usual plates: the same as library/vectors.py and library/usual.py, number
   for number, over the index that find_index.py writes. */
(function () {
  "use strict";

  /* `asks`: id -> what may be typed; `judge`: the findings that typed numbers decide. */
  window.causebookVectors = function (index, asks, judge) {
    var usual = index.usual;

    function sd(id, value) { return Math.hypot(asks[id].relative * value, asks[id].fixed); }
    function meant(id, value) { return asks[id].sense ? asks[id].sense * Math.abs(value) : value; }
    /* Four digits, as the cases are kept. */
    function kept(value) { return Number(value.toPrecision(4)); }

    /* Where a call with these readings lies: of each axis [place, its error], or nothing. */
    function points(read) {
      var values = {};
      Object.keys(read).forEach(function (id) { if (asks[id]) { values[id] = meant(id, kept(read[id])); } });
      return index.axes.map(function (axis) {
        var way = axis.ways.find(function (one) {
          return Object.keys(one.terms).every(function (id) { return id in values; }) && (!one.per || values[one.per] > 0);
        });
        if (!way) { return null; }
        var scale = way.per ? values[way.per] : 1, value = 0, square = 0;
        Object.keys(way.terms).forEach(function (id) {
          value += way.terms[id] * values[id];
          square += Math.pow(way.terms[id] * sd(id, values[id]), 2);
        });
        value /= scale;
        var error = Math.sqrt(square) / scale;
        if (!axis.log) { return [value, error]; }
        var at = Math.max(value, 0) + axis.least;
        return [Math.log(at), error / at];
      });
    }
    function closeness(n, one, other) {
      var distance = (one[0] - other[0]) / Math.hypot(one[1], index.axes[n].usual);
      return Math.exp(-distance * distance / 2);
    }

    function fits(entry, fuel) { return !entry.fuel || entry.fuel === (fuel || usual.fuel); }
    function platesFor(typed, fuel) {
      return usual.plates.filter(function (plate) { return !(plate.ask in typed) && fits(plate, fuel); });
    }
    function assumed(typed, fuel) {
      var low = {}, high = {}, out = {}, alone = judge(typed);
      platesFor(typed, fuel).forEach(function (plate) { low[plate.ask] = plate.low; high[plate.ask] = plate.high; });
      low = judge(Object.assign(low, typed));
      high = judge(Object.assign(high, typed));
      Object.keys(low).forEach(function (id) {
        if (high[id] === low[id] && !(id in alone)) { out[id] = low[id]; }
      });
      return out;
    }
    function beyond(typed, fuel) {
      return usual.beyond.filter(function (one) { return fits(one, fuel) && typed[one.ask] > one.above; });
    }
    function contradicted(typed) {
      return usual.contradicts.filter(function (one) { return Math.abs(typed[one.ask] || 0) > one.above; });
    }
    /* Findings that readings rule out and nobody said to be present. */
    function barred(typed, present) {
      var out = {};
      contradicted(typed).forEach(function (one) {
        one.findings.forEach(function (id) { if (!present[id]) { out[id] = true; } });
      });
      return out;
    }

    return { points: points, closeness: closeness, meant: meant, platesFor: platesFor, assumed: assumed,
      beyond: beyond, contradicted: contradicted, barred: barred };
  };
})();
