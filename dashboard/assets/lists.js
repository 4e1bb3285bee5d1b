/* Files for the strip of suppliers' lists: chosen or dropped, sent to this machine, the answer told in words. */
(function () {
  "use strict";
  var MOST = 20e6, TOGETHER = 31e6;

  function say(words) { window.dash_clientside.set_props("lists-words", { children: words }); }
  function megabytes(size) {
    var digits = (size / 1e6).toPrecision(3).replace(/\.0+$|(\.\d*?)0+$/, "$1");
    return digits.replace(".", document.documentElement.dataset.decimal || ".") + " MB";
  }

  function kept() {
    try { return JSON.parse(window.sessionStorage.getItem("lists-kept")) || []; } catch (error) { return []; }
  }

  function send(files) {
    var sent = new FormData(), refused = [], whole = 0, names = [];
    Array.from(files).forEach(function (file) {
      if (file.size > MOST) { refused.push(file.name + ": " + megabytes(file.size) + "; expected at most " + megabytes(MOST)); }
      else { sent.append("file", file, file.name); whole += file.size; names.push(file.name); }
    });
    if (whole > TOGETHER) {
      refused.push("together " + megabytes(whole) + "; expected at most " + megabytes(TOGETHER) + ": read them one after the other");
      names = [];
    }
    say(refused.join("\n"));
    if (!names.length) { return; }
    kept().forEach(function (key) { sent.append("kept", key); });
    say(refused.concat("Reading " + names.join(", ") + " …").join("\n"));
    window.fetch("lists", { method: "POST", body: sent, headers: { "X-Requested-By": "wallfront" } })
      .then(function (answer) { return answer.json(); })
      .then(function (answer) {
        say(refused.concat(answer.words || []).join("\n"));
        window.dash_clientside.set_props("lists-kept", { data: answer.kept });
      })
      .catch(function () { say("The explorer did not answer. Is it still running?"); });
  }

  document.addEventListener("click", function (event) {
    if (!event.target.closest || !event.target.closest("#lists-choose")) { return; }
    var input = document.createElement("input");
    input.type = "file";
    input.multiple = true;
    input.accept = ".csv,.txt,.tsv,.xlsx,.xlsm,.toml,.xml,.json,.zip";
    input.addEventListener("change", function () { send(input.files); });
    input.click();
  });

  function over(event) {
    var place = event.target.closest && event.target.closest("#lists-strip");
    var drop = document.getElementById("lists-drop");
    if (drop) { drop.classList.toggle("active", Boolean(place) && event.type === "dragover"); }
    return place;
  }
  document.addEventListener("dragover", function (event) { if (over(event)) { event.preventDefault(); } });
  document.addEventListener("dragleave", over);
  document.addEventListener("drop", function (event) {
    if (!over(event) || !event.dataTransfer.files.length) { return; }
    event.preventDefault();
    send(event.dataTransfer.files);
  });
})();
