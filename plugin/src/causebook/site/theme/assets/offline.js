/* Starts the worker that keeps the site for where there is no signal, and says in the foot what is kept. */
(function () {
  "use strict";
  var here = document.currentScript && document.currentScript.src;
  if (!here || !("serviceWorker" in navigator) || location.protocol === "file:") { return; }
  var root = new URL("../", here);
  fetch(new URL("sw.js", root), { method: "HEAD" }).then(function (found) {
    if (!found.ok) { return; }
    navigator.serviceWorker.register(new URL("sw.js", root), { updateViaCache: "none" }).then(function () {
      return navigator.serviceWorker.ready;
    }).then(say, function () { /* refused, as in a private window: the site works without */ });
  }, say);

  function say() {
    var place = document.querySelector(".cb-built");
    if (!place || !window.caches) { return; }
    caches.match(new URL("offline.json", root).href).then(function (list) { return list && list.json(); }).then(function (list) {
      if (!list) { return; }
      var line = document.querySelector(".cb-saved-line");
      if (line) { line.textContent = "Saved on this device for no signal: " + (list.cases === list.of ? "all " + list.of : "the newest " + list.cases + " of " + list.of) + " cases."; }
      place.appendChild(document.createTextNode(" · Saved on this device for no signal: "
        + (list.cases === list.of ? "all " + list.of : "the newest " + list.cases + " of " + list.of) + " cases, "
        + Math.max(1, Math.round(list.bytes / 1e6)) + " MB"
        + (list.cases === list.of ? "" : "; other pages once they were opened")));
    });
  }
})();
