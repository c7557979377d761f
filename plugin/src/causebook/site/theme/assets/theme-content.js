/* What the theme writes into every page (mkdocs-material 9.8, partials/javascripts/content.html), as a file: of content
   in tabs, the tab that was open before, or that the address names. */
(function () {
  "use strict";
  var linked = document.currentScript.hasAttribute("data-tabs"), tabs = null;
  try { tabs = linked && __md_get("__tabs"); } catch (refused) { /* nothing remembered */ }
  document.querySelectorAll(".tabbed-set").forEach(function (set) {
    var label = Array.from(set.querySelectorAll(".tabbed-labels label")).find(function (one) {
      return Array.isArray(tabs) && tabs.indexOf(one.innerText.trim()) >= 0;
    });
    if (label) { document.getElementById(label.htmlFor).checked = true; }
  });
  var target = document.getElementById(location.hash.slice(1));
  if (target && target.name) { target.checked = target.name.indexOf("__tabbed_") === 0; }
})();
