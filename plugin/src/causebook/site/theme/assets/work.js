/* Work this call: one step after another, each answered before it is shown.  Without script all folds are simply shut. */
(function () {
  "use strict";
  var page = document.querySelector(".cb-workit");
  if (!page) { return; }
  var KEY = "causebook.work " + location.pathname;
  var kept = {};
  try { kept = JSON.parse(localStorage.getItem(KEY)) || {}; } catch (refused) { /* nothing kept */ }
  var tasks = Array.from(page.querySelectorAll(".cb-task"));
  var end = tasks[tasks.length - 1];

  function keep() {
    page.querySelectorAll("input").forEach(function (box) {
      if (box.type !== "radio") { kept[box.name] = box.value; } else if (box.checked) { kept[box.name] = box.value; }
    });
    kept.open = tasks.filter(function (task) { return task.querySelector(".cb-shown").open; }).length;
    try { localStorage.setItem(KEY, JSON.stringify(kept)); } catch (refused) { /* for this page only */ }
  }

  function chosen(task, name) { return task.querySelector("input[name^='" + name + "']:checked"); }

  function told(task) {
    var lines = [], guess = task.querySelector("input[data-read]"), next = chosen(task, "next-");
    if (guess && guess.value.trim()) { lines.push("You expected " + guess.value.trim() + ", it read " + guess.dataset.told + "."); }
    if (next) {
      lines.push(next.hasAttribute("data-taken") ? "You picked what they did." : "You would have spent " + next.dataset.minutes + " min on something else.");
    }
    return lines.join(" ");
  }

  function compare() {
    var mine = 0, left = [];
    tasks.slice(0, -1).forEach(function (task, n) {
      var next = chosen(task, "next-");
      mine += Number(next && !next.hasAttribute("data-taken") ? Number(next.dataset.minutes) + Number(task.dataset.minutes) : task.dataset.minutes);
      if (next && !next.hasAttribute("data-taken")) { left.push(n + 1); }
    });
    return "Your path: " + mine + " min; the case: " + page.dataset.caseMinutes + " min. " +
      (left.length ? "You left its path at step " + left.join(", ") + "." : "You stayed on its path.");
  }

  function show() {
    var open = true;
    tasks.forEach(function (task) {
      var fold = task.querySelector(".cb-shown"), line = fold.querySelector(".cb-told");
      task.hidden = !open;
      line.textContent = fold.open ? (task === end ? compare() : told(task)) : "";
      open = open && fold.open;
    });
    page.querySelector(".cb-again-work").hidden = !end.querySelector(".cb-shown").open;
  }

  Object.keys(kept).forEach(function (name) {
    page.querySelectorAll("input[name='" + CSS.escape(name) + "']").forEach(function (box) {
      if (box.type === "radio") { box.checked = box.value === kept[name]; } else { box.value = kept[name]; }
    });
  });
  tasks.forEach(function (task, n) {
    var fold = task.querySelector(".cb-shown");
    fold.open = n < (kept.open || 0);
    fold.addEventListener("toggle", function () { show(); keep(); });
  });
  page.addEventListener("input", keep);
  page.querySelector(".cb-again-work").addEventListener("click", function () {
    try { localStorage.removeItem(KEY); } catch (refused) { /* nothing kept */ }
    kept = {};
    page.querySelectorAll("input").forEach(function (box) { if (box.type === "radio") { box.checked = false; } else { box.value = ""; } });
    tasks.forEach(function (task) { task.querySelector(".cb-shown").open = false; });
    tasks[0].scrollIntoView();
  });
  show();
})();
