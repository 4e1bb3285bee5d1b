/* Good manners: a line when the explorer does not answer, the guide, and names and roles for controls that have none. */
(function () {
  "use strict";
  var BEAT = 5000, AGAIN = 1500, SHOWN = 5000;

  /* 1. The connection. The study and its searches are on disk: a page that waits has lost nothing. */
  var WORDS = {
    lost: ["The explorer does not answer.",
      "Nothing is lost: the study and its searches are files. This page waits, and goes on when the explorer is started again."],
    back: ["The explorer answers again.", "Repeat the last step if it did nothing."],
    token: ["The explorer asks for its token.", "Open the whole address that the command printed, once more."],
    large: ["This file is too large, and was not taken.", "What is shown is as it was."],
    fault: ["The explorer could not do this.", "What is shown is as it was, and the study is untouched. Another step may work."]
  };
  var line = null, state = "", asked = false, later = 0;

  function lineOf() {
    if (line) { return line; }
    line = document.createElement("div");
    line.id = "connection";
    line.setAttribute("role", "status");
    document.body.appendChild(line);
    return line;
  }
  function say(next) {
    if (next === state) { return; }
    state = next;
    window.clearTimeout(later);
    var place = lineOf();
    place.replaceChildren();
    document.documentElement.dataset.connection = next || "good";
    if (!next) { return; }
    var head = document.createElement("b");
    head.textContent = WORDS[next][0];
    place.append(head, " " + WORDS[next][1]);
    if (next === "large" || next === "fault") {
      var close = document.createElement("button");
      close.className = "quiet";
      close.textContent = "Close";
      close.addEventListener("click", function () { say(""); });
      place.append(" ", close);
    }
    if (next === "back") { later = window.setTimeout(function () { say(""); }, SHOWN); }
  }
  var plain = window.fetch.bind(window);
  function beat() {
    if (asked) { return; }
    asked = true;
    plain("/alive", { cache: "no-store", credentials: "same-origin" }).then(function (answer) {
      if (answer.status === 401) { say("token"); }
      else if (state === "lost" || state === "token") { say("back"); }
    }, function () { say("lost"); }).then(function () {
      asked = false;
      if (state === "lost" || state === "token") { window.setTimeout(beat, AGAIN); }
    });
  }
  window.fetch = function (place, how) {
    return plain(place, how).then(function (answer) {
      if (answer.status === 401) { say("token"); }
      else if (answer.status === 413) { say("large"); }
      else if (answer.status >= 500) { say("fault"); }
      else if (state === "lost" || state === "token") { say("back"); }
      return answer;
    }, function (error) {
      if (error && error.name !== "AbortError") { window.setTimeout(beat, 150); }
      throw error;
    });
  };
  window.setInterval(function () { if (!document.hidden && state !== "lost") { beat(); } }, BEAT);
  document.addEventListener("visibilitychange", function () { if (!document.hidden) { beat(); } });

  /* 2. The guide. */
  var SEEN = "wallfront-guide";
  function seen() {
    try { return window.localStorage.getItem(SEEN) === "seen"; } catch (error) { return false; }
  }
  function show(on, remember) {
    var guide = document.getElementById("guide"), link = document.getElementById("guide-link");
    if (!guide || !link) { return; }
    if (!on && guide.contains(document.activeElement)) { link.focus(); }
    guide.hidden = !on;
    link.setAttribute("aria-expanded", on ? "true" : "false");
    if (remember) { try { window.localStorage.setItem(SEEN, "seen"); } catch (error) { /* private window */ } }
  }
  document.addEventListener("click", function (event) {
    var on = event.target.closest ? event.target.closest("#guide-link, #guide-close, #skip") : null;
    if (!on) { return; }
    if (on.id === "skip") {
      var main = document.getElementById("walls");
      event.preventDefault();
      if (main) { main.focus(); main.scrollIntoView(); }
      return;
    }
    var guide = document.getElementById("guide");
    show(on.id === "guide-link" && guide.hidden, true);
  });

  /* 3. Escape closes what hangs open, and the keyboard stays where it was. */
  document.addEventListener("keydown", function (event) {
    if (event.key !== "Escape" || event.defaultPrevented) { return; }
    var guide = document.getElementById("guide");
    if (guide && !guide.hidden && guide.contains(document.activeElement)) { show(false, true); }
    if (state === "large" || state === "fault") { say(""); }
    var sheet = document.activeElement && document.activeElement.closest("#proof-part[open]");
    if (sheet) { sheet.querySelector("summary").focus(); }
  }, true);

  /* 4. Names and roles: what the controls of others leave out. */
  function named(node, name) {
    if (name && node.getAttribute("aria-label") !== name) { node.setAttribute("aria-label", name); }
  }
  function listName(list) {
    var slot = list.closest(".slot"), part = list.closest("[aria-label]:not(.dash-checklist)");
    if (list.id === "log") { return "axes"; }
    return slot ? slot.querySelector("b").textContent : part ? part.getAttribute("aria-label") : "choices";
  }
  /* 5. The page opens when there is a front or a reason why there is none. */
  function open() {
    var nothing = document.getElementById("nothing"), canvas = window.frontState && window.frontState.canvas;
    var drawn = canvas && canvas.ids.length && document.querySelector("#plot .main-svg");
    if (!document.documentElement.dataset.open && (drawn || (nothing && !nothing.hidden))) {
      document.documentElement.dataset.open = "yes";
    }
  }
  window.setTimeout(function () { document.documentElement.dataset.open = "yes"; }, 15000);

  function mend() {
    open();
    document.querySelectorAll(".dash-checklist, .dash-radioitems").forEach(function (list) {
      if (list.closest(".dash-dropdown-content")) { return; }
      if (list.getAttribute("role") === "listbox") {
        list.setAttribute("role", list.classList.contains("dash-radioitems") ? "radiogroup" : "group");
      }
      if (!list.hasAttribute("aria-label")) { named(list, listName(list)); }
      list.querySelectorAll("label[role=option]").forEach(function (label) { label.removeAttribute("role"); });
      list.querySelectorAll("label[aria-selected]").forEach(function (label) { label.removeAttribute("aria-selected"); });
    });
    /* A noun has a hidden field that takes the keyboard and hands it on: the button takes it itself. */
    document.querySelectorAll(".dash-dropdown-focus-target").forEach(function (field) {
      var button = field.parentElement.querySelector("button.dash-dropdown");
      if (!button) { return; }
      if (field.tabIndex !== -1) { field.tabIndex = -1; }
      if (!button.disabled && button.tabIndex !== 0) { button.tabIndex = 0; }
    });
    document.querySelectorAll(".dash-dropdown-content[role=dialog]").forEach(function (list) {
      var button = document.querySelector("button.dash-dropdown[aria-expanded=true]");
      var name = button ? button.getAttribute("aria-label") || "choices" : "choices";
      [list].concat(Array.from(list.querySelectorAll("[role=listbox]"))).forEach(function (part) { named(part, name); });
    });
    document.querySelectorAll(".noun[title] button.dash-dropdown").forEach(function (button) {
      var value = button.querySelector(".dash-dropdown-value");
      named(button, button.closest(".noun").title + ": " + (value || button).textContent.trim());
    });
    document.querySelectorAll("input[type=file]").forEach(function (field) {
      var button = field.parentElement.querySelector("button");
      if (field.tabIndex !== -1) { field.tabIndex = -1; }
      named(field, button ? button.textContent.trim() : "a file");
    });
    document.querySelectorAll("#proof-part > summary").forEach(function (summary) {
      var idle = summary.parentElement.classList.contains("closed");
      if (idle !== (summary.getAttribute("tabindex") === "-1")) {
        if (idle) { summary.setAttribute("tabindex", "-1"); } else { summary.removeAttribute("tabindex"); }
      }
    });
  }
  var due = false;
  function soon() {
    if (due) { return; }
    due = true;
    window.requestAnimationFrame(function () { due = false; mend(); });
  }
  var first = true;
  new MutationObserver(function () {
    if (first && document.getElementById("guide")) {
      first = false;
      show(!seen(), false);
    }
    soon();
  }).observe(document.documentElement, {
    subtree: true, childList: true, characterData: true, attributes: true, attributeFilter: ["role", "aria-selected", "class", "hidden", "tabindex"]
  });
})();
