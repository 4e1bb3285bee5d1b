/* The page's own way back over ranges, locks and weights; locks as they are chosen; the weights when they are unfolded. */
(function () {
  "use strict";
  var clientside = (window.dash_clientside = window.dash_clientside || {});
  var NARROWED = ["thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "whole_life_kgco2e_m2"];
  var MOST = 60, PAUSE = 350;
  var past = [], at = -1, ends = null, timer = 0;

  function buttons() {
    if (!clientside.set_props) { return; }
    clientside.set_props("narrowing-undo", { disabled: at <= 0 });
    clientside.set_props("narrowing-redo", { disabled: at >= past.length - 1 });
  }

  /* A range that stands open is kept as open, so that it stays so on the front of another target. */
  function ranges(values) {
    return NARROWED.map(function (key, place) {
      var value = values[place], end = ends && ends[key];
      if (!value || !end) { return [null, null]; }
      return [value[0] <= end[0] ? null : value[0], value[1] >= end[1] ? null : value[1]];
    });
  }

  function push(step) {
    if (at >= 0 && JSON.stringify(past[at]) === JSON.stringify(step)) { return; }
    past = past.slice(0, at + 1).concat([step]).slice(-MOST);
    at = past.length - 1;
    buttons();
  }

  function go(by) {
    if (at + by < 0 || at + by >= past.length) { return; }
    at += by;
    var step = past[at];
    NARROWED.forEach(function (key, place) {
      var end = (ends && ends[key]) || [0, 1], span = step.ranges[place];
      var value = [span[0] === null ? end[0] : span[0], span[1] === null ? end[1] : span[1]];
      clientside.set_props("slider-" + key, { value: value });
    });
    clientside.set_props("locks", { data: step.locks });
    NARROWED.forEach(function (key, place) { clientside.set_props("weight-" + key, { value: step.weights[place] }); });
    buttons();
  }

  clientside.deciding = {
    /* Given: the sliders' values, their ends, the locks, the weights; as many of the first and the last as figures. */
    remember: function () {
      var given = Array.prototype.slice.call(arguments), count = NARROWED.length, spans = given[count];
      if (!spans) { return clientside.no_update; }
      ends = spans;
      var step = {
        ranges: ranges(given.slice(0, count)), locks: given[count + 1] || [], weights: given.slice(count + 2)
      };
      window.clearTimeout(timer);
      if (past.length) { timer = window.setTimeout(function () { push(step); }, PAUSE); } else { push(step); }
      return clientside.no_update;
    },
    lock: function (token, locks) {
      if (!token) { return [clientside.no_update, clientside.no_update]; }
      var rest = (locks || []).filter(function (each) { return each !== token; });
      return [rest.concat([token]), null];
    },
    weight_words: function (value) {
      return value === 0 ? "does not count" : "counts " + value;
    }
  };

  document.addEventListener("click", function (event) {
    var button = event.target.closest && event.target.closest("#narrowing-undo, #narrowing-redo");
    if (button && !button.disabled) { go(button.id === "narrowing-undo" ? -1 : 1); }
    var sheet = document.querySelector("#limits-part[open]");
    if (sheet && !sheet.contains(event.target)) { sheet.open = false; }
  });

  document.addEventListener("keydown", function (event) {
    var sheet = document.querySelector("#limits-part[open]");
    if (event.key === "Escape" && sheet) { sheet.open = false; sheet.querySelector("summary").focus(); }
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== "z") { return; }
    var typing = event.target.closest && event.target.closest("input:not([type=checkbox]), textarea, [contenteditable]");
    if (typing || (document.documentElement.dataset.view || "front") !== "front") { return; }
    event.preventDefault();
    go(event.shiftKey ? 1 : -1);
  });

  /* Walls are ranked only while the weights are unfolded. */
  document.addEventListener("toggle", function (event) {
    if (event.target.id === "weighing") { clientside.set_props("weighed", { data: event.target.open }); }
  }, true);

  function nameThumbs() {
    document.querySelectorAll(".weight").forEach(function (part) {
      var thumb = part.querySelector("[role=slider]"), name = "how much " + part.dataset.figure + " counts";
      if (thumb && thumb.getAttribute("aria-label") !== name) { thumb.setAttribute("aria-label", name); }
    });
  }
  function watch() {
    var part = document.getElementById("weighing");
    if (!part) { window.setTimeout(watch, 80); return; }
    new MutationObserver(nameThumbs).observe(part, { childList: true, subtree: true });
    nameThumbs();
  }
  watch();
})();
