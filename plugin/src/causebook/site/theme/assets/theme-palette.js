/* What the theme writes into every page (mkdocs-material 9.8, partials/javascripts/palette.html), as a file: light or
   dark as chosen before, set before the page is drawn. */
(function () {
  "use strict";
  var palette = null;
  try { palette = __md_get("__palette"); } catch (refused) { return; }
  if (!palette || !palette.color) { return; }
  if (palette.color.media === "(prefers-color-scheme)") {
    var light = matchMedia("(prefers-color-scheme: light)").matches;
    var input = document.querySelector("[data-md-color-media='(prefers-color-scheme: " + (light ? "light" : "dark") + ")']");
    ["media", "scheme", "primary", "accent"].forEach(function (name) {
      palette.color[name] = input.getAttribute("data-md-color-" + name);
    });
  }
  Object.keys(palette.color).forEach(function (name) {
    document.body.setAttribute("data-md-color-" + name, palette.color[name]);
  });
})();
