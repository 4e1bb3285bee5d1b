/* What the plot does by itself: ranges and locks narrow it, the ring follows the chosen wall, beaten walls lie behind. */
(function () {
  "use strict";
  var clientside = (window.dash_clientside = window.dash_clientside || {});
  var FRONT = 5, PATIENCE = 150;
  var NARROWED = ["thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "whole_life_kgco2e_m2"];
  var state = (window.frontState = { kept: null, canvas: null, wall: null, cloud: [], stamp: "" });
  var later = 0, told = null, painted = "";

  function byId(name) { return document.getElementById(name); }
  function graph() { return document.querySelector("#plot .js-plotly-plot"); }
  function put(name, words) {
    var node = byId(name);
    if (node && node.textContent !== words) { node.textContent = words; }
  }
  function number(value, digits) {
    var marks = document.documentElement.dataset;
    return value
      .toLocaleString("en", { minimumFractionDigits: digits, maximumFractionDigits: digits })
      .replace(/[.,]/g, function (mark) { return mark === "." ? marks.decimal : marks.group; });
  }

  /* Wall -> whether ranges and locks leave it. A wall without a figure is not lost to its range. */
  function keptOf(canvas, held, spans) {
    var kept = {}, holding = held && held.ids ? new Set(held.ids) : null;
    canvas.ids.forEach(function (id, at) {
      kept[id] = (!holding || holding.has(id)) && NARROWED.every(function (key, place) {
        var value = canvas.figures[key][at], span = spans[place];
        return !span || value === null || (value >= span[0] - 1e-9 && value <= span[1] + 1e-9);
      });
    });
    return kept;
  }

  function drawBars(canvas) {
    NARROWED.forEach(function (key) {
      var place = byId("bars-" + key);
      if (!place) { return; }
      place.replaceChildren.apply(place, canvas.bars[key].map(function (height) {
        var bar = document.createElement("span");
        bar.style.height = height + "%";
        return bar;
      }));
    });
  }

  function tell(canvas, spans, ends, shown) {
    NARROWED.forEach(function (key, place) {
      var value = spans[place], end = ends && ends[key], form = canvas.forms[key];
      if (!value || !end || !canvas.ids.length) { return; }
      var low = Math.max(value[0], end[0]), high = Math.min(value[1], end[1]);
      var digits = Number.isInteger(low) && Number.isInteger(high) ? 0 : 1;
      var least = form.before + number(low, digits), most = form.before + number(high, digits);
      put("range-" + key, least + " – " + most + form.after);
      var bars = byId("bars-" + key), wide = end[1] - end[0] || 1;
      if (bars) {
        bars.style.setProperty("--low-share", (low - end[0]) / wide);
        bars.style.setProperty("--high-share", (end[1] - high) / wide);
      }
    });
    var whole = canvas.ids.length;
    put("count", whole ? number(shown, 0) + " of " + number(whole, 0) + (whole === 1 ? " wall." : " walls.") : "");
    var empty = byId("range-message");
    if (empty) { empty.hidden = !(whole && !shown); }
  }

  function filterTable() {
    try { window.dash_ag_grid.getApi("table").onFilterChanged(); } catch (error) { /* the table is not there yet */ }
  }

  /* The ring is moved, not drawn again. */
  function placeRing() {
    var ring = byId("ring"), plot = graph();
    if (!ring) { return; }
    var spot = null, layout = plot && plot._fullLayout;
    if (layout && state.wall && layout.xaxis) {
      (plot.data || []).forEach(function (trace) {
        var at = trace.ids ? trace.ids.indexOf(state.wall) : -1;
        if (at >= 0) { spot = [layout.xaxis.d2p(trace.x[at]), layout.yaxis.d2p(trace.y[at])]; }
      });
    }
    ring.hidden = !spot;
    if (spot) {
      var size = layout._size;
      ring.style.transform = "translate(" + (size.l + spot[0]) + "px," + (size.t + spot[1]) + "px)";
    }
  }

  function drawCloud() {
    var sheet = byId("behind"), plot = graph();
    if (!sheet || !plot || !plot._fullLayout || !plot._fullLayout._size) { return; }
    var size = plot._fullLayout._size, scale = window.devicePixelRatio || 1;
    var colour = getComputedStyle(document.documentElement).getPropertyValue("--muted");
    sheet.hidden = !state.cloud.length;
    var stamp = [size.l, size.t, size.w, size.h, scale, colour, state.clouds].join(" ");
    if (sheet.hidden || stamp === painted) { return; }
    painted = stamp;
    sheet.style.left = size.l + "px";
    sheet.style.top = size.t + "px";
    sheet.style.width = size.w + "px";
    sheet.style.height = size.h + "px";
    sheet.width = size.w * scale;
    sheet.height = size.h * scale;
    var pen = sheet.getContext("2d");
    pen.scale(scale, scale);
    pen.globalAlpha = state.cloud.length > 4000 ? 0.22 : 0.34;
    pen.fillStyle = colour;
    state.cloud.forEach(function (spot) { pen.fillRect(spot[0] * size.w - 1, spot[1] * size.h - 1, 2, 2); });
  }

  function follow() {
    var plot = graph();
    if (!plot || plot.followed || !plot.on) { return; }
    plot.followed = true;
    plot.on("plotly_afterplot", function () { veil(); placeRing(); drawCloud(); });
    /* Nothing on the server asks what the pointer meets: every word to the page's store costs a reader time. */
    ["plotly_click", "plotly_hover", "plotly_unhover"].forEach(function (each) { plot.removeAllListeners(each); });
    plot.on("plotly_click", choose);
    plot.on("plotly_hover", point);
    plot.on("plotly_unhover", window.frontTip.hide);
    plot.on("plotly_relayout", function () { veil(); placeRing(); });
    veil();
    placeRing();
    drawCloud();
  }

  /* Points narrowed away turn clear, with their labels. The nodes are changed directly: the plot's own way to restyle a
     thousand points takes longer than a reader waits. */
  function veil() {
    var plot = graph(), canvas = state.canvas;
    if (!plot || !canvas || !state.kept || !plot.data || !plot.data[FRONT]) { return; }
    var ids = plot.data[FRONT].ids || [], group = plot.querySelector(".scatterlayer .trace:last-child");
    var nodes = group ? group.querySelectorAll("path.point") : [];
    if (nodes.length === ids.length) {
      for (var at = 0; at < ids.length; at += 1) {
        var wanted = state.kept[ids[at]] === false ? "0" : "1";
        if (nodes[at].style.opacity !== wanted) { nodes[at].style.opacity = wanted; }
      }
    }
    ((plot.layout && plot.layout.annotations) || []).forEach(function (each, number) {
      var label = plot.querySelector(".annotation[data-index='" + number + "']");
      if (label) { label.style.display = state.kept[each.name] === false ? "none" : ""; }
    });
  }

  /* Where the walls of the shortlist lie; always the same lists for the same walls, or the plot is drawn anew. */
  var spots = { stamp: "", x: [], y: [] };
  function spotsOf(data, walls) {
    var stamp = state.canvas.stamp + walls.join(" ");
    if (spots.stamp !== stamp) {
      spots = { stamp: stamp, x: [], y: [] };
      data.forEach(function (trace) {
        (trace.ids || []).forEach(function (id, at) {
          if (walls.indexOf(id) >= 0) { spots.x.push(trace.x[at]); spots.y.push(trace.y[at]); }
        });
      });
    }
    return { x: spots.x, y: spots.y };
  }

  /* The head of the panel is fetched by itself and shown first; all that goes through the page's store follows, and
     says the same. Words are changed where they stand, so that what follows finds everything in its place. */
  function glance(wall) {
    var query = new URLSearchParams({ wall: wall }), run = new URLSearchParams(window.location.search).get("run");
    if (run) { query.set("run", run); }
    return window.fetch("/glance?" + query).then(function (answer) {
      return answer.ok ? answer.json() : null;
    }).then(function (found) {
      if (found && state.wall === wall) { showGlance(found); }
    }, function () { /* the panel itself says what is wrong */ });
  }
  function pick(wall, target) {
    var gone = false;
    function go() {
      if (gone || state.wall !== wall) { return; }
      gone = true;
      clientside.set_props("wall", { data: wall });
      if (target !== undefined) { clientside.set_props("target", { value: target }); }
    }
    window.frontChosen(wall);
    if (wall === "mine") { go(); return; }
    window.setTimeout(go, PATIENCE);
    glance(wall).then(function () { window.requestAnimationFrame(function () { window.setTimeout(go, 0); }); });
  }
  function say(node, words) {
    var text = node && node.firstChild;
    if (text && text.nodeType === Node.TEXT_NODE && node.childNodes.length === 1) { text.nodeValue = words; }
  }
  function showGlance(found) {
    var head = document.querySelectorAll("#wall-name > span"), figures = document.querySelectorAll("#figures .figure");
    if (head.length !== 2 || figures.length !== found.figures.length) { return; }
    say(head[0], found.name);
    say(head[1], found.in_short);
    figures.forEach(function (figure, at) {
      say(figure.querySelector(".value"), found.figures[at][0]);
      say(figure.querySelector(".label"), found.figures[at][1]);
    });
    clientside.wallfront.put(found.svg, "drawing");
  }

  /* The wall under the pointer in words, beside as few of its neighbours as can be. */
  function point(event) {
    var found = ((event && event.points) || []).find(function (each) { return each.customdata && each.text; });
    if (!found || state.kept && state.kept[idOf(found)] === false) { window.frontTip.hide(); return; }
    var layout = graph()._fullLayout, size = layout._size, points = [];
    function at(x, y) { return [size.l + layout.xaxis.d2p(x), size.t + layout.yaxis.d2p(y)]; }
    graph().data.forEach(function (trace) {
      (trace.ids || []).forEach(function (id, number) {
        if (!state.kept || state.kept[id] !== false) { points.push(at(trace.x[number], trace.y[number])); }
      });
    });
    window.frontTip.show(found.text, at(found.x, found.y), [size.l, size.t], points);
  }
  function idOf(point) { return Array.isArray(point.customdata) ? point.customdata[0] : point.customdata; }

  /* A click chooses a wall, and with it the target of its front. */
  function choose(clicked) {
    var point = ((clicked && clicked.points) || []).find(function (each) { return each.customdata; });
    if (!point) { return; }
    var given = Array.isArray(point.customdata) ? point.customdata : [point.customdata];
    pick(given[0], given[1]);
  }

  /* Where ranks come, the table begins with the first; where they go, with the chosen wall again. */
  function turn(rows, wall) {
    var first = rows.find(function (row) { return row.rank === 1; }), ranked = Boolean(first);
    if (ranked === Boolean(state.ranked)) { return; }
    state.ranked = ranked;
    window.setTimeout(function () {
      clientside.set_props("table", { scrollTo: { rowId: ranked ? first.id : wall, rowPosition: ranked ? "top" : null } });
    }, 60);
  }

  /* The wall that the grid reports as selected. */
  function firstOf(selected) {
    var first = selected && (selected.ids ? selected.ids[0] : selected[0]);
    return first && first.id ? first.id : first || null;
  }

  /* The mark moves at once when a wall is picked here, and when one is chosen anywhere else. */
  window.frontPick = pick;
  window.frontChosen = function (wall) {
    if (state.wall === wall) { return; }
    state.wall = wall;
    placeRing();
    if (window.frontLineChosen) { window.frontLineChosen(wall); }
  };

  clientside.front = {
    show: function (canvas, shortlist) {
      if (!canvas) { return clientside.no_update; }
      state.canvas = canvas;
      var data = canvas.figure.data.slice();
      data[0] = Object.assign({}, data[0], spotsOf(data, shortlist || []));
      window.setTimeout(follow, 0);
      return { data: data, layout: Object.assign({}, canvas.figure.layout) };
    },
    /* Given after the first two: the sliders' values, one for each figure, then the shortlist and the sliders' ends. */
    narrow: function (canvas, held) {
      if (!canvas) { return clientside.no_update; }
      var rest = Array.prototype.slice.call(arguments, 2), count = NARROWED.length;
      var spans = rest.slice(0, count), shortlist = rest[count], ends = rest[count + 1];
      var fresh = told !== canvas, shown = 0;
      told = canvas;
      state.canvas = canvas;
      state.kept = keptOf(canvas, held, spans);
      canvas.ids.forEach(function (id) { shown += state.kept[id] ? 1 : 0; });
      if (fresh) { drawBars(canvas); }
      tell(canvas, spans, ends, shown);
      if (window.frontLines) { window.frontLines(canvas, spans, ends, shortlist || []); }
      veil();
      state.stamp = canvas.stamp + " " + Date.now();
      window.clearTimeout(later);
      later = window.setTimeout(function () {
        filterTable();
        clientside.set_props("narrowed", { data: { stamp: state.stamp, fresh: fresh } });
      }, fresh ? 30 : 140);
      return clientside.no_update;
    },
    label: function (labels) {
      var plot = graph();
      if (plot && labels && labels.stamp === state.stamp && window.Plotly) {
        window.Plotly.relayout(plot, { annotations: labels.annotations });
      }
      return clientside.no_update;
    },
    ring: function (wall) {
      window.frontChosen(wall);
      return clientside.no_update;
    },
    behind: function (cloud) {
      state.cloud = cloud || [];
      state.clouds = (state.clouds || 0) + 1;
      drawCloud();
      return clientside.no_update;
    },
    drawn: function (shape) {
      document.documentElement.dataset.drawn = shape || "points";
      window.dispatchEvent(new Event("resize"));
      return clientside.no_update;
    },
    selected: function (selected, wall) {
      var now = firstOf(selected);
      if (now && now !== wall) { pick(now); }
      return clientside.no_update;
    },
    follow: function (_, rows, selected, wall) {
      var now = firstOf(selected);
      turn(rows || [], wall);
      if (now === wall) { return [clientside.no_update, clientside.no_update]; }
      if (!wall || !(rows || []).some(function (row) { return row.id === wall; })) {
        return [[], clientside.no_update];
      }
      var seen = !state.kept || state.kept[wall];
      return [{ ids: [wall] }, seen ? { rowId: wall, rowPosition: null } : clientside.no_update];
    }
  };
})();
