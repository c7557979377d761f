/* What the numbers of a call make: rise, static against the plate, input by the clock, airflow by the rise.
   The formulas are those of the core (physics/air.py, physics/gas.py, survey/heat.py, survey/path.py); its constants
   come with the sheet's data, and the tests hold the results together.  Numbers in SI inside, US units outside. */
(function () {
  "use strict";
  var BTUH = 0.29307107017, CFM = 0.00047194745, FOOT = 0.3048, CUBIC_FOOT = 0.028316846592, BTU = 1055.05585262;

  function kelvin(f) { return (f + 459.67) / 1.8; }

  /* Vapor pressure of water when saturated [Pa]: ASHRAE Fundamentals 2017 ch. 1 eq. 6, above freezing. */
  function saturation(t) {
    return Math.exp(-5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t * t - 1.4452093e-8 * t * t * t
      + 6.5459673 * Math.log(t));
  }
  /* Heat that warms a unit volume of air by a degree [J/(m3 K)]; its moisture is that of the rooms. */
  function sensible(physics, air) {
    var pressure = physics.pressure * Math.pow(1 - 2.25577e-5 * air.elevation * FOOT, 5.2559);
    var vapor = air.humidity * saturation(kelvin(air.room)), ratio = physics.massRatio * vapor / (pressure - vapor);
    var volume = physics.dryAir * kelvin(air.back) * (1 + ratio / physics.massRatio) / pressure;
    return (physics.cpDry + physics.cpVapor * ratio) / volume;
  }

  /* Which taps the plate's static rating lies between, as its boundary says. */
  function boundary(counted, coil) {
    var start = counted.indexOf("inlet") >= 0 ? 4 : counted.indexOf("filter") >= 0 ? 3 : 2;
    return [start, counted.indexOf("coil") >= 0 || !coil ? 5 : 6];
  }
  var TAPS = { 2: "tap-before-filter", 3: "tap-after-filter", 4: "blower-box", 5: "tap-before-coil", 6: "tap-after-coil" };

  /* `read`: reading -> number in its US unit.  `plate`: "furnace.input" -> number, pair, word or list.
     Gives {rise, static, input, airflow, least, output}, each only where it can be worked out. */
  window.causebookSheetNumbers = function (physics) {
    return function (read, plate) {
      var out = {}, has = function (id) { return read[id] !== undefined; };
      var stated = plate["furnace.input"], counted = plate["furnace.counted as external"];
      if (has("supply-air") && has("return-air") && read["supply-air"] > read["return-air"]) {
        out.rise = read["supply-air"] - read["return-air"];
      } else if (has("rise")) { out.rise = read.rise; }
      if (counted) {
        var ends = boundary(counted, plate["coil.cooling"] !== undefined);
        if (has("external-static")) { out.static = Math.abs(read["external-static"]); }
        else if (has(TAPS[ends[0]]) && has(TAPS[ends[1]])) { out.static = read[TAPS[ends[1]]] - read[TAPS[ends[0]]]; }
      }
      if (has("meter-time") && plate["site.meter dial"] && plate["site.heating value"]) {
        out.input = plate["site.meter dial"] * CUBIC_FOOT / read["meter-time"] * plate["site.heating value"] * BTU / CUBIC_FOOT / BTUH;
      } else if (has("clocked-input")) { out.input = read["clocked-input"]; }
      var efficiency = plate["furnace.output"] && stated ? plate["furnace.output"] / stated
        : plate["furnace.kind"] === "condensing" ? physics.condensing : physics.nonCondensing;
      var room = plate["site.room"] === undefined ? 70 : plate["site.room"];
      var factor = sensible(physics, {
        elevation: plate["site.elevation"] || 0, room: room, humidity: physics.humidity,
        back: has("return-air") ? read["return-air"] : room
      });
      var heat = (out.input || stated || 0) * BTUH * efficiency;
      if (heat && out.rise > 0) { out.airflow = heat / (factor * out.rise / 1.8) / CFM; }
      if (stated && plate["furnace.rise"]) { out.least = stated * BTUH * efficiency / (factor * plate["furnace.rise"][1] / 1.8) / CFM; }
      if (stated && out.input) { out.share = out.input / stated; }
      return out;
    };
  };
})();
