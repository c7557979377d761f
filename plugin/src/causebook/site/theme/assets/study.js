/* Ticks on the page of the study order; they stay on this device. */
(function () {
  "use strict";
  var KEY = "causebook.studied";
  var done = {};
  try { done = JSON.parse(localStorage.getItem(KEY)) || {}; } catch (refused) { /* nothing remembered */ }
  var progress = document.querySelector(".cb-progress");
  var lines = Array.prototype.slice.call(document.querySelectorAll("[data-study]"));
  if (!progress || !lines.length) { return; }

  function tell() {
    var through = lines.filter(function (line) { return done[line.dataset.study]; }).length;
    var next = lines.find(function (line) { return !done[line.dataset.study]; });
    progress.hidden = false;
    progress.textContent = through + " of " + lines.length + " cases ticked. ";
    if (next && through) {
      var link = next.closest("li").querySelector("a").cloneNode(true);
      progress.appendChild(document.createTextNode("Next: "));
      progress.appendChild(link);
    }
  }
  lines.forEach(function (line) {
    var id = line.dataset.study, entry = line.closest("li"), title = entry.querySelector("a").textContent;
    var label = document.createElement("label"), box = document.createElement("input");
    label.className = "cb-tick";
    box.type = "checkbox";
    box.autocomplete = "off";
    box.checked = Boolean(done[id]);
    box.setAttribute("aria-label", "Worked through: " + title);
    label.appendChild(box);
    label.appendChild(document.createTextNode(" worked through"));
    line.insertAdjacentElement("afterend", label);
    box.addEventListener("change", function () {
      if (box.checked) { done[id] = true; } else { delete done[id]; }
      try { localStorage.setItem(KEY, JSON.stringify(done)); } catch (refused) { /* for this page only */ }
      tell();
    });
  });
  tell();
})();
