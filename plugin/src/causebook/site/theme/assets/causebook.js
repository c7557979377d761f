/* What a page does by itself: remember units, open photos, answer keys.  Everything works, if plainer, without it. */
(function () {
  "use strict";
  var root = document.documentElement;

  /* Units: US, SI or both, remembered on this device. */
  var units = document.querySelector(".cb-units select");
  if (units) {
    units.form.hidden = false;
    units.value = root.dataset.cbUnits;
    units.addEventListener("change", function () {
      root.dataset.cbUnits = units.value;
      try { localStorage.setItem("causebook.units", units.value); } catch (refused) { /* kept for this page only */ }
    });
    units.form.addEventListener("submit", function (event) { event.preventDefault(); });
  }

  /* The menu button is a label; let keys press it too. */
  document.querySelectorAll("label[role=button][for]").forEach(function (label) {
    label.addEventListener("keydown", function (event) {
      if (event.key === "Enter" || event.key === " ") { event.preventDefault(); label.click(); }
    });
  });

  /* Printing shows every fold; what was shut is shut again afterwards. */
  var opened = [];
  window.addEventListener("beforeprint", function () {
    opened = Array.prototype.slice.call(document.querySelectorAll("main details:not([open])"));
    opened.forEach(function (fold) { fold.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (fold) { fold.open = false; });
  });
})();
