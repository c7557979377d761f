/* Runs before the page is drawn and before the theme's own script. */
(function () {
  "use strict";
  var root = document.documentElement;
  try { root.dataset.cbUnits = localStorage.getItem("causebook.units") || "us"; } catch (refused) { root.dataset.cbUnits = "us"; }

  /* The theme opens every fold for printing.  What was shut is marked first, so that the style sheet can keep closed
     what answers a question, and leave out the tables behind charts. */
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll("details:not([open])").forEach(function (fold) { fold.dataset.cbShut = ""; });
  });
  window.addEventListener("afterprint", function () {
    document.querySelectorAll("details[data-cb-shut]").forEach(function (fold) { delete fold.dataset.cbShut; });
  });
})();
