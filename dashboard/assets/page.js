/* What the browser does by itself: theme, address, drawing, lighting a layer, the plot's width. */
(function () {
  "use strict";
  var clientside = (window.dash_clientside = window.dash_clientside || {});
  var media = window.matchMedia("(prefers-color-scheme: dark)");

  function kept() {
    try { return window.localStorage.getItem("wallfront-theme"); } catch (error) { return null; }
  }
  function keep(theme) {
    try { window.localStorage.setItem("wallfront-theme", theme); } catch (error) { /* private window */ }
  }
  function current() {
    return kept() || (media.matches ? "dark" : "light");
  }
  document.documentElement.dataset.theme = current();

  var allowed = /^(svg|title|desc|style|defs|pattern|g|rect|line|path|text)$/;

  function harmless(root) {
    var all = [root].concat(Array.from(root.querySelectorAll("*")));
    return all.every(function (node) {
      return allowed.test(node.localName) && Array.from(node.attributes).every(function (attribute) {
        return !/^on|href$/i.test(attribute.name);
      });
    });
  }

  function put(svg, name) {
    var place = document.getElementById(name);
    if (!place) { return ""; }
    place.replaceChildren();
    if (svg) {
      var root = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
      if (root.localName === "svg" && harmless(root)) { place.appendChild(document.importNode(root, true)); }
    }
    return "";
  }

  var addressed = null;
  clientside.wallfront = {
    theme: function (clicks) {
      var theme = current();
      if (clicks) {
        theme = theme === "dark" ? "light" : "dark";
        keep(theme);
      }
      document.documentElement.dataset.theme = theme;
      return [theme, theme === "dark" ? "light" : "dark"];
    },
    view: function (view) {
      document.documentElement.dataset.view = view;
      document.querySelectorAll(".views button").forEach(function (link) {
        if (link.id === "view-" + view) { link.setAttribute("aria-current", "page"); }
        else { link.removeAttribute("aria-current"); }
      });
      window.scrollTo(0, 0);
      window.dispatchEvent(new Event("resize"));
      return view;
    },
    address: function (run, wall, view) {
      var query = new URLSearchParams();
      if (run) { query.set("run", run); }
      if (wall && wall !== "mine") { query.set("wall", wall); }
      if (view && view !== "front") { query.set("view", view); }
      if (clientside.wallfront.walls) { clientside.wallfront.walls(query, run, view); }
      var text = query.toString();
      window.history.replaceState(window.history.state, "", window.location.pathname + (text ? "?" + text : ""));
      return clientside.no_update;
    },
    /* Only another run is news to the server; a panel must not wait until it has been told of a wall. */
    news: function (run) {
      if (addressed === (run || "")) { return clientside.no_update; }
      addressed = run || "";
      return addressed;
    },
    put: put,
    draw: function (svg) {
      put(svg, "drawing");
      /* What can wait until the wall is drawn follows "settled". */
      window.setTimeout(function () { clientside.set_props("settled", { data: window.frontState.wall }); }, 0);
      return clientside.no_update;
    },
    draw_profile: function (svg) { return put(svg, "profile"); },
    draw_water: function (svg) { return put(svg, "water"); },
    draw_bounds: function (svg) { return put(svg, "bounds"); },
    draw_temperatures: function (svg) { return put(svg, "temperatures"); },
    draw_spread: function (svg) { return put(svg, "spread"); }
  };

  /* A layer under the pointer lights in drawing, list and bars. */
  function light(number) {
    var panel = document.getElementById("wall-panel");
    if (!panel) { return; }
    var words = null;
    panel.querySelectorAll("[data-layer]").forEach(function (node) {
      var on = node.getAttribute("data-layer") === number;
      node.classList.toggle("lit", on);
      if (on && node.getAttribute("data-words")) { words = node.getAttribute("data-words"); }
    });
    var line = document.getElementById("lit-words");
    if (line) { line.textContent = words || line.getAttribute("data-idle"); }
  }
  document.addEventListener("pointerover", function (event) {
    var panel = event.target.closest && event.target.closest("#wall-panel");
    if (!panel) { return; }
    var node = event.target.closest("[data-layer]");
    light(node ? node.getAttribute("data-layer") : null);
  });
  document.addEventListener("pointerout", function (event) {
    if (event.target.closest && event.target.closest("#wall-panel") && !event.relatedTarget) { light(null); }
  });

  /* The sheet under the header closes with Escape and with a click elsewhere. */
  function shut(event) {
    var sheet = document.querySelector("#proof-part[open]");
    if (!sheet || (event.type === "click" && sheet.contains(event.target))) { return; }
    if (event.type === "click" || event.key === "Escape") { sheet.open = false; }
  }
  document.addEventListener("click", shut);
  document.addEventListener("keydown", shut);

  /* Each thumb of a slider says what it narrows. */
  function nameThumbs() {
    document.querySelectorAll(".slider:not(.weight)").forEach(function (slider) {
      var figure = slider.querySelector("b").textContent;
      slider.querySelectorAll("[role=slider]").forEach(function (thumb, number) {
        var name = (number ? "most " : "least ") + figure;
        if (thumb.getAttribute("aria-label") !== name) { thumb.setAttribute("aria-label", name); }
      });
    });
  }

  /* The labels of the plot are placed for the width it really has. */
  var last = 0;
  var watcher = new ResizeObserver(function (entries) {
    var width = Math.round(entries[0].contentRect.width);
    if (Math.abs(width - last) < 12 || width < 100) { return; }
    last = width;
    window.setTimeout(function () {
      if (width === last) { clientside.set_props("screen", { data: { width: width } }); }
    }, 120);
  });
  function watch() {
    var holder = document.querySelector(".plot-holder");
    if (!holder || !clientside.set_props) { window.setTimeout(watch, 60); return; }
    watcher.observe(holder);
    document.querySelectorAll(".sliders").forEach(function (sliders) {
      new MutationObserver(nameThumbs).observe(sliders, { childList: true, subtree: true });
    });
    nameThumbs();
  }
  watch();
})();
