/* Where the parts of the page stand: a long panel scrolls on beside the end of the front, and on an upright screen the
   chosen wall follows the plot, for the eye and for the keyboard alike. */
(function () {
  "use strict";
  var upright = window.matchMedia("(max-width: 1000px)");

  /* Shortlist and table stand under the plot, or under the wall: in the document as on the screen. */
  function place() {
    var more = document.getElementById("front-more"), wall = document.getElementById("wall-panel");
    var column = document.querySelector(".column"), at = document.activeElement;
    if (upright.matches === (more.parentElement !== column)) { return; }
    if (upright.matches) { wall.after(more); } else { column.append(more); }
    if (more.contains(at)) { at.focus({ preventScroll: true }); }
  }
  function watch() {
    var column = document.querySelector(".column");
    if (!column || !document.getElementById("wall-panel")) { window.setTimeout(watch, 60); return; }
    place();
    upright.addEventListener("change", place);
    new ResizeObserver(function () {
      document.documentElement.style.setProperty("--front-height", column.offsetHeight + "px");
    }).observe(column);
  }
  watch();
})();
