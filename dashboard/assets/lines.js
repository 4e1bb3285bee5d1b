/* The front as lines across parallel axes: drawn here, narrowed by dragging along an axis, chosen by a click. */
(function () {
  "use strict";
  var clientside = (window.dash_clientside = window.dash_clientside || {});
  var SVG = "http://www.w3.org/2000/svg";
  var EDGE = { left: 70, right: 70, top: 44, bottom: 40 }, HEIGHT = 385, NEAR = 9;
  var NARROWED = ["thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "whole_life_kgco2e_m2"];
  var now = null; // what is drawn: spec, paths, places

  function make(name, given, parent, words) {
    var node = document.createElementNS(SVG, name);
    Object.keys(given || {}).forEach(function (key) { node.setAttribute(key, given[key]); });
    if (words !== undefined) { node.textContent = words; }
    if (parent) { parent.appendChild(node); }
    return node;
  }
  function holder() { return document.getElementById("lines"); }
  function state() { return window.frontState; }

  function draw(canvas) {
    var place = holder(), wide = place.clientWidth;
    if (wide < 100) { return; }
    var spec = canvas.lines, high = HEIGHT - EDGE.top - EDGE.bottom;
    var step = (wide - EDGE.left - EDGE.right) / Math.max(1, spec.axes.length - 1);
    var svg = make("svg", { width: wide, height: HEIGHT, role: "img" });
    make("title", {}, svg, "Every wall of the front as a line; the sliders and the table below do the same by keyboard.");
    var xs = spec.axes.map(function (_, at) { return EDGE.left + at * step; });
    var y = function (share) { return EDGE.top + (1 - share) * high; };
    var paths = make("g", { "class": "wall-lines" }, svg), marks = {};
    spec.ids.forEach(function (id, at) {
      var points = spec.shares[at].map(function (share, axis) { return xs[axis].toFixed(1) + "," + y(share).toFixed(1); });
      marks[id] = make("polyline", { points: points.join(" ") }, paths);
    });
    var over = make("polyline", { "class": "over", visibility: "hidden" }, svg);
    var chosen = make("polyline", { "class": "chosen", visibility: "hidden" }, svg);
    var bands = {};
    spec.axes.forEach(function (axis, at) {
      var part = make("g", { "class": "line-axis" + (axis.slider ? " brushed" : "") }, svg), x = xs[at];
      make("line", { x1: x, x2: x, y1: y(0), y2: y(1) }, part);
      axis.ticks.forEach(function (tick) {
        make("line", { x1: x - 3, x2: x + 3, y1: y(tick.at), y2: y(tick.at) }, part);
        make("text", { x: x - 8, y: y(tick.at) + 4, "text-anchor": "end", "class": "tick" }, part, tick.words);
      });
      make("text", { x: x, y: 14, "text-anchor": "middle", "class": "axis-name" }, part, axis.name);
      make("text", { x: x, y: EDGE.top - 10, "text-anchor": "middle", "class": "end" }, part, axis.words[1]);
      make("text", { x: x, y: HEIGHT - EDGE.bottom + 18, "text-anchor": "middle", "class": "end" }, part, axis.words[0]);
      if (axis.slider) {
        bands[axis.key] = make("rect", { x: x - 5, width: 10, "class": "band" }, part);
        var grip = make("rect", { x: x - 16, width: 32, y: EDGE.top - 6, height: high + 12, "class": "grip" }, part);
        brush(grip, axis, y, high);
      }
    });
    place.replaceChildren(svg);
    within(svg, wide);
    now = { stamp: canvas.stamp, wide: wide, canvas: canvas, spec: spec, xs: xs, y: y, marks: marks, bands: bands, over: over,
      chosen: chosen, out: {} };
    svg.addEventListener("pointermove", function (event) { point(event, svg); });
    svg.addEventListener("pointerleave", function () { name(null); });
    svg.addEventListener("click", function (event) {
      var found = nearest(event, svg);
      if (found !== null && !event.target.classList.contains("grip")) {
        window.frontPick(spec.ids[found]);
      }
    });
    window.frontLineChosen(state().wall);
  }

  /* Words over the outer axes stay on the plot. */
  function within(svg, wide) {
    svg.querySelectorAll(".axis-name, .end").forEach(function (words) {
      var box = words.getBBox(), over = Math.min(0, wide - 2 - box.x - box.width), under = Math.max(0, 2 - box.x);
      if (over || under) { words.setAttribute("x", Number(words.getAttribute("x")) + (under || over)); }
    });
  }

  /* Dragging along an axis sets its slider; a click on it opens the range again. */
  function brush(grip, axis, y, high) {
    var from = null;
    function at(event) {
      var box = holder().getBoundingClientRect();
      var share = 1 - (event.clientY - box.top - EDGE.top) / high;
      return axis.low + Math.min(1, Math.max(0, share)) * (axis.high - axis.low);
    }
    function snapped(one, other) {
      var step = axis.high - axis.low > 20 ? 1 : 0.1;
      var down = function (value) { return Math.floor(value / step + 1e-6) * step; };
      var up = function (value) { return Math.ceil(value / step - 1e-6) * step; };
      return [+down(Math.min(one, other)).toFixed(1), +up(Math.max(one, other)).toFixed(1)];
    }
    grip.addEventListener("pointerdown", function (event) {
      from = { value: at(event), y: event.clientY };
      grip.setPointerCapture(event.pointerId);
      event.preventDefault();
    });
    grip.addEventListener("pointermove", function (event) {
      if (from === null || Math.abs(event.clientY - from.y) < 4) { return; }
      clientside.set_props("slider-" + axis.key, { value: snapped(from.value, at(event)) });
    });
    grip.addEventListener("pointerup", function (event) {
      if (from !== null && Math.abs(event.clientY - from.y) < 4) {
        clientside.set_props("slider-" + axis.key, { value: snapped(axis.low, axis.high) });
      }
      from = null;
    });
  }

  /* The line nearest to the pointer, of those that are not narrowed away. */
  function nearest(event, svg) {
    var box = svg.getBoundingClientRect(), x = event.clientX - box.left, y = event.clientY - box.top;
    var left = 0;
    while (left < now.xs.length - 2 && now.xs[left + 1] < x) { left += 1; }
    var part = (x - now.xs[left]) / ((now.xs[left + 1] - now.xs[left]) || 1), best = null, away = NEAR;
    if (part < -0.05 || part > 1.05) { return null; }
    now.spec.ids.forEach(function (id, at) {
      if (now.out[id]) { return; }
      var shares = now.spec.shares[at], share = shares[left] + part * (shares[left + 1] - shares[left]);
      var off = Math.abs(now.y(share) - y);
      if (off < away) { away = off; best = at; }
    });
    return best;
  }

  function point(event, svg) {
    var found = nearest(event, svg);
    name(found, event);
    svg.style.cursor = found === null ? "" : "pointer";
  }

  function name(found, event) {
    var tip = document.getElementById("line-tip");
    if (!now || !tip) { return; }
    now.over.setAttribute("visibility", found === null ? "hidden" : "visible");
    tip.hidden = found === null;
    if (found === null) { return; }
    now.over.setAttribute("points", now.marks[now.spec.ids[found]].getAttribute("points"));
    window.frontTip.say(now.spec.texts[found]);
    var box = holder().getBoundingClientRect(), x = event.clientX - box.left;
    tip.style.left = Math.min(x + 14, box.width - tip.offsetWidth - 4) + "px";
    tip.style.top = Math.max(0, event.clientY - box.top - tip.offsetHeight - 12) + "px";
  }

  window.frontLines = function (canvas, spans, ends, shortlist) {
    if (!canvas.lines || !holder()) { now = null; return; }
    if (!now || now.canvas !== canvas || now.wide !== holder().clientWidth) { draw(canvas); }
    if (!now) { return; }
    var kept = state().kept;
    now.spec.ids.forEach(function (id) {
      var out = !kept[id];
      if (Boolean(now.out[id]) !== out) { now.out[id] = out; now.marks[id].classList.toggle("out", out); }
    });
    var stamp = shortlist.join(" ");
    if (now.shortlist !== stamp) {
      now.shortlist = stamp;
      now.spec.ids.forEach(function (id) {
        var mark = now.marks[id], on = shortlist.indexOf(id) >= 0;
        mark.classList.toggle("kept", on);
        if (on) { mark.parentNode.appendChild(mark); }
      });
    }
    now.spec.axes.forEach(function (axis) {
      var band = now.bands[axis.key], span = spans[NARROWED.indexOf(axis.key)];
      if (!band || !span) { return; }
      var share = function (value) {
        return Math.min(1, Math.max(0, (value - axis.low) / ((axis.high - axis.low) || 1)));
      };
      var top = now.y(share(span[1])), bottom = now.y(share(span[0]));
      band.setAttribute("y", top);
      band.setAttribute("height", Math.max(1, bottom - top));
      band.classList.toggle("open", span[0] <= ends[axis.key][0] && span[1] >= ends[axis.key][1]);
    });
  };

  window.frontLineChosen = function (wall) {
    if (!now) { return; }
    var mark = now.marks[wall];
    now.chosen.setAttribute("visibility", mark ? "visible" : "hidden");
    if (mark) { now.chosen.setAttribute("points", mark.getAttribute("points")); }
  };

  window.addEventListener("resize", function () {
    if (now && holder() && holder().clientWidth > 100 && holder().clientWidth !== now.wide) {
      var marks = now.out, canvas = now.canvas;
      draw(canvas);
      Object.keys(marks).forEach(function (id) {
        if (marks[id] && now.marks[id]) { now.out[id] = true; now.marks[id].classList.add("out"); }
      });
    }
  });
})();
