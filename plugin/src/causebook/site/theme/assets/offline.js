/* Says in the foot when the site was built, starts the worker that keeps it for where there is no signal, and says
   what is kept. */
(function () {
  "use strict";
  var here = document.currentScript && document.currentScript.src;
  if (!here) { return; }
  var root = new URL("../", here);

  /* The time stands in one small script and in no page: a page that did not change need not be fetched again. */
  var built = document.createElement("script");
  built.src = new URL("built.js", root).href;
  built.onload = function () {
    var place = document.querySelector(".cb-built"), time = document.createElement("time");
    if (!place || !window.causebookBuilt) { return; }
    time.dateTime = window.causebookBuilt.at;
    time.textContent = window.causebookBuilt.at.slice(0, 10);
    place.prepend("Built ", time, place.childNodes.length ? " · " : "");
  };
  document.head.appendChild(built);

  if (!("serviceWorker" in navigator) || location.protocol === "file:") { return; }
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
