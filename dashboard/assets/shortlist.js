/* The shortlist in the browser: asking for news, marking kept walls in the table, drawing and addressing the comparison. */
(function () {
  "use strict";
  var own = window.dash_clientside.wallfront;
  var none = function () { return window.dash_clientside.no_update; };
  var chosen; /* walls side by side; undefined until the page has read its address */

  /* Walls in the address: a bare one is of the run that the address names. */
  own.walls = function (query, run, view) {
    var before = new URLSearchParams(window.location.search).get("walls");
    if (view !== "compare") { return; }
    if (chosen === undefined) {
      if (before) { query.set("walls", before); }
    } else if (chosen && chosen.length) {
      query.set("walls", chosen.map(function (key) {
        var at = key.indexOf(":");
        return key.slice(0, at) === (run || "") ? key.slice(at + 1) : key;
      }).join(","));
    }
  };

  own.beside = function (keys, view) {
    chosen = keys;
    var query = new URLSearchParams(window.location.search);
    var run = query.get("run");
    query.delete("walls");
    own.walls(query, run, view);
    var text = query.toString().replace(/%2C/g, ",").replace(/%3A/g, ":");
    window.history.replaceState(window.history.state, "", window.location.pathname + (text ? "?" + text : ""));
    return text;
  };

  /* News of other browsers waits while somebody writes a note or nobody looks. */
  own.ask = function (count) {
    var writing = document.activeElement && document.activeElement.closest && document.activeElement.closest(".note");
    return count && (document.hidden || writing) ? none() : count || 0;
  };

  /* Kept walls stand out in the table, whichever of its rows are drawn. */
  var sheet = new CSSStyleSheet();
  document.adoptedStyleSheets = document.adoptedStyleSheets.concat(sheet);
  own.mark = function (walls) {
    var rows = (walls || []).map(function (wall) { return '#table .ag-row[row-id="' + CSS.escape(wall) + '"] [col-id="id"]'; });
    sheet.replaceSync(rows.length ? rows.join(",") + "{font-weight:700;box-shadow:inset 3px 0 var(--accent)}" : "");
    return rows.length;
  };

  own.draw_beside = function (drawings) {
    for (var number = 0; number < 4; number += 1) {
      own.put((drawings || [])[number] || "", "compare-drawing-" + number);
    }
    return "";
  };

  own.print_page = function (clicks) {
    if (clicks) { window.print(); }
    return clicks || 0;
  };
})();
