/* Notes in the browser. What is typed is sent with the wall that it was typed for, and again with the next one until the
   server has confirmed it; a field that somebody writes in is let be. */
(function () {
  "use strict";
  var clientside = (window.dash_clientside = window.dash_clientside || {});
  var FIELDS = ["compare-note-0", "compare-note-1", "compare-note-2", "compare-note-3"];
  var waiting = [], sent = 0;

  function plain(text) { return (text || "").replace(/\s+/g, " ").trim(); } // as the server keeps it
  function in_hand(field, noted) { // somebody writes in it, and has not handed that in yet
    var node = document.getElementById(field);
    return node && node === document.activeElement && plain(node.value) !== noted[1];
  }
  function is_waiting(key) { return waiting.some(function (each) { return each[1] === key; }); }
  function send(key, text) {
    sent += 1;
    waiting = waiting.concat([[sent, key, text]]);
  }

  /* kept and noted: [wall, its note], as the server has it and as this page saw it last. */
  function put(field, kept, noted) {
    var same = noted && noted[0] === kept[0];
    if (same && is_waiting(kept[0])) { return [clientside.no_update, noted]; }
    if (same && (noted[1] === kept[1] || in_hand(field, noted))) { return [clientside.no_update, kept]; }
    return [kept[1], kept];
  }
  /* What this page then has seen: the note as it was typed, where it is another than before. */
  function take(value, noted) {
    if (!noted || plain(value) === noted[1]) { return noted; }
    send(noted[0], plain(value));
    return [noted[0], plain(value)];
  }

  clientside.notes = {
    put: function (kept, noted) {
      return kept ? put("keep-note", kept, noted) : [clientside.no_update, null];
    },
    write: function (_, __, value, noted) {
      var now = take(value, noted);
      return now === noted ? [clientside.no_update, clientside.no_update] : [waiting, now];
    },
    put_beside: function (kept, noted) {
      var values = [], now = [];
      FIELDS.forEach(function (field, at) {
        var each = (kept || [])[at], told = each ? put(field, each, (noted || [])[at]) : [clientside.no_update, null];
        values.push(told[0]);
        if (each) { now.push(told[1]); }
      });
      return values.concat([now]);
    },
    write_beside: function () {
      var values = Array.prototype.slice.call(arguments, 4, 8), noted = arguments[8] || [], before = sent;
      var now = noted.map(function (each, at) { return take(values[at], each); });
      return sent === before ? [clientside.no_update, clientside.no_update] : [waiting, now];
    },
    confirm: function (number) {
      waiting = waiting.filter(function (each) { return each[0] > (number || 0); });
      return number || 0;
    }
  };

  /* A note is one line: Enter writes it, and the field keeps the keyboard. */
  var entered = 0;
  document.addEventListener("keydown", function (event) {
    if (event.key !== "Enter" || event.isComposing || event.target.id !== "keep-note") { return; }
    event.preventDefault();
    entered += 1;
    clientside.set_props("note-entered", { data: entered });
  });
})();
