/* What stands beside the pointer on both plots: the wall in words, in the corner where it covers least. */
(function () {
  "use strict";
  var AWAY = 14, EDGE = 4, NEAR = 6;

  function tip() { return document.getElementById("line-tip"); }

  /* Lines with <br> between them, the first of them bold; nothing else in them is read as a tag. */
  function say(text) {
    var node = tip();
    node.replaceChildren();
    text.split("<br>").forEach(function (line, at) {
      var row = document.createElement(at ? "div" : "b");
      row.textContent = line.replace(/<\/?b>/g, "").replace(/&lt;/g, "<").replace(/&gt;/g, ">").replace(/&amp;/g, "&");
      node.appendChild(row);
    });
    node.hidden = false;
  }

  /* Corners and sides of a spot, each box within the plot; the one over the fewest points, the nearest corner first. */
  function corner(spot, box, from, room, points) {
    var best = null, least = Infinity;
    [[1, -1], [-1, -1], [1, 1], [-1, 1], [0, -1], [0, 1]].forEach(function (way) {
      var wished = [spot[0] + way[0] * AWAY - (1 - way[0]) * box[0] / 2, spot[1] + way[1] * AWAY - (1 - way[1]) * box[1] / 2];
      var at = [0, 1].map(function (side) {
        return Math.max(from[side] + EDGE, Math.min(wished[side], room[side] - box[side] - EDGE));
      });
      var over = function (each) {
        return [0, 1].every(function (side) { return each[side] > at[side] - NEAR && each[side] < at[side] + box[side] + NEAR; });
      };
      var moved = Math.abs(at[0] - wished[0]) + Math.abs(at[1] - wished[1]);
      var cost = points.filter(over).length + 0.01 * moved + (over(spot) ? 1000 : 0);
      if (cost < least) { least = cost; best = at; }
    });
    return best;
  }

  window.frontTip = {
    say: say,
    hide: function () { if (tip()) { tip().hidden = true; } },
    /* from: the left and upper end of the plot's inside, whose titles stay in view. */
    show: function (text, spot, from, points) {
      var node = tip();
      if (!node) { return; }
      say(text);
      var room = node.parentElement, box = [node.offsetWidth, node.offsetHeight];
      var at = corner(spot, box, from, [room.clientWidth, room.clientHeight], points);
      node.style.left = at[0] + "px";
      node.style.top = at[1] + "px";
    }
  };
})();
