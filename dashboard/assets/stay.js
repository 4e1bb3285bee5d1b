/* Measures the front, so that its end can stay in view while a longer panel scrolls on. */
(function () {
  "use strict";
  function watch() {
    var front = document.querySelector("section.front");
    if (!front) { window.setTimeout(watch, 60); return; }
    new ResizeObserver(function () {
      document.documentElement.style.setProperty("--front-height", front.offsetHeight + "px");
    }).observe(front);
  }
  watch();
})();
