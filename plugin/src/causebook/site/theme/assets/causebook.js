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

  /* The menu and its groups are labels of boxes to tick, which work without script; here they become buttons. */
  document.querySelectorAll("label[tabindex][for]").forEach(function (label) {
    var box = document.getElementById(label.htmlFor), button = document.createElement("button");
    function tell() { button.setAttribute("aria-expanded", String(box.checked)); }
    Array.from(label.attributes).forEach(function (one) {
      if (one.name !== "for" && one.name !== "tabindex") { button.setAttribute(one.name, one.value); }
    });
    button.type = "button";
    button.replaceChildren.apply(button, Array.from(label.childNodes));
    button.addEventListener("click", function () { box.click(); });
    box.addEventListener("change", tell);
    tell();
    label.replaceWith(button);
  });

  /* The menu takes the focus while it is open; Escape, or going on past its end, closes it. */
  var drawer = document.getElementById("__drawer");
  var button = document.querySelector(".cb-menu"), menu = document.querySelector(".md-sidebar--primary");
  if (drawer && button && menu) {
    drawer.addEventListener("change", function () {
      if (drawer.checked) { setTimeout(function () { menu.querySelector("li a").focus({ preventScroll: true }); }); }
    });
    document.addEventListener("keydown", function (event) {
      if (event.key === "Escape" && drawer.checked) { drawer.click(); button.focus(); }
    });
    document.addEventListener("focusin", function (event) {
      if (drawer.checked && !menu.contains(event.target) && event.target !== button) { drawer.click(); }
    });
  }

  /* A link to a step inside a closed fold opens it. */
  function unfold() {
    var target = location.hash.length > 1 && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    for (var fold = target && target.closest("details"); fold; fold = fold.parentElement.closest("details")) { fold.open = true; }
  }
  window.addEventListener("hashchange", unfold);
  unfold();

  /* Photos: the link opens the picture here instead of leaving the page; Escape or the button closes it. */
  var light = null;
  document.querySelectorAll("a[data-cb-lightbox]").forEach(function (link) {
    link.addEventListener("click", function (event) {
      if (event.ctrlKey || event.metaKey || event.shiftKey || !window.HTMLDialogElement) { return; }
      event.preventDefault();
      if (!light) {
        light = document.createElement("dialog");
        light.className = "cb-light";
        document.body.appendChild(light);
        light.addEventListener("click", function (click) { if (click.target === light) { light.close(); } });
      }
      var small = link.querySelector("img");
      var frame = document.createElement("div");
      var image = document.createElement("img");
      image.src = link.href;
      image.alt = small.alt;
      frame.appendChild(image);
      var marks = link.querySelector(".cb-marks");
      if (marks) { frame.appendChild(marks.cloneNode(true)); }
      var words = document.createElement("p");
      words.textContent = small.alt;
      var form = document.createElement("form");
      form.method = "dialog";
      var close = document.createElement("button");
      close.textContent = "Close picture";
      form.appendChild(close);
      light.setAttribute("aria-label", small.alt || "Picture");
      light.replaceChildren(form, frame, words);
      light.showModal();
      close.focus();
    });
  });
})();
