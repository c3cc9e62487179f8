(function () {
  var box = document.querySelector(".workshop-player"), name = box.id;
  function read(part) { return JSON.parse(document.getElementById(name + part).textContent); }
  var frames = read("-frames"), words = read("-words"), asks = read("-asks"), inks = read("-dark"), speeds = read("-speeds");
  var caption = box.querySelector("p"), range = box.querySelector("input"), place = box.querySelector(".workshop-looks");
  var play = box.querySelector(".play"), ask = document.querySelector(".ask"), told = document.querySelector(".speed");
  var first = box.querySelector("img"), asked = {}, speed = Math.min(2, speeds.length - 1), kept = { light: [], dark: [] };
  function darkened(source, ink) {  // the same picture with its other palette, which is as long
    if (!ink) { return source; }
    var all = atob(source.split(",")[1]), part = atob(ink), from = all.indexOf("PLTE") - 4;
    return "data:image/png;base64," + btoa(all.slice(0, from) + part + all.slice(from + part.length));
  }
  function shade() { return document.documentElement.classList.contains("dark") ? "dark" : "light"; }
  function prepare(name) {
    if (kept[name].length) { return; }
    kept[name] = frames.map(function (source, k) {
      var one = first.cloneNode();
      one.alt = words[k]; one.src = name === "dark" ? darkened(source, inks[k]) : source;
      return one;
    });
  }
  function room() {  // the longest sentence, or question, decides how much of the screen all of them get
    var most = 0, asking = ask.hidden, asks_now = ask.textContent, high = innerHeight;
    Object.keys(asks).forEach(function (k) {
      ask.hidden = false; ask.textContent = asks[k]; high = Math.min(high, ask.getBoundingClientRect().top);
    });
    ask.hidden = asking; ask.textContent = asks_now;
    caption.style.height = "auto";
    words.forEach(function (text) { caption.textContent = text; most = Math.max(most, caption.offsetHeight); });
    caption.style.height = most + "px"; caption.textContent = words[film.at()];
    caption.style.height = Math.max(most, caption.getBoundingClientRect().bottom - high + 4) + "px";
  }
  function say() { told.textContent = speeds[speed] + (speeds[speed] === 1 ? " look" : " looks") + " a second"; }
  var film = workshopFilm(place, {
    count: frames.length,
    pace: function () { return speeds[speed]; },
    picture: function (k) { prepare(shade()); return kept[shade()][k]; },
    said: function (k) {  // while playing, as soon as the newer look is the nearer one
      ask.hidden = true;
      caption.setAttribute("aria-live", film.playing() ? "off" : "polite");
      caption.textContent = words[k]; range.value = k;
      range.setAttribute("aria-valuetext", "picture " + (k + 1) + " of " + frames.length);
    },
    free: function (k) { return !asks[k] || asked[k]; },
    held: question,
    state: function (playing) { play.textContent = playing ? "Pause" : "Play"; }
  });
  function question(k) { asked[k] = true; ask.textContent = asks[k]; ask.hidden = false; }
  function beyond(by) {  // by hand a step goes to the next look, past pictures drawn halfway, which share its words
    var at = film.at(), k = at + by;
    while (k > 0 && k < frames.length - 1 && words[k] === words[at] && !asks[k]) { k += by; }
    while (by < 0 && k > 0 && words[k - 1] === words[k]) { k -= 1; }
    return k;
  }
  function forward() {
    var next = beyond(1);
    if (ask.hidden && asks[next] && !asked[next]) { question(next); } else { film.show(next); }
  }
  function back() { if (!ask.hidden) { ask.hidden = true; return; } film.show(beyond(-1)); }
  function toggle() {
    if (film.playing()) { film.stop(); return; }
    if (film.at() >= frames.length - 1) { asked = {}; }
    ask.hidden = true; film.play();
  }
  function faster(by) { speed = Math.min(Math.max(speed + by, 0), speeds.length - 1); say(); }
  function go(act) { return function () { film.stop(); act(); }; }
  var keys = {
    " ": toggle, "ArrowRight": go(forward), "PageDown": go(forward), "ArrowLeft": go(back), "PageUp": go(back),
    "ArrowUp": function () { faster(1); }, "ArrowDown": function () { faster(-1); },
    "+": function () { faster(1); }, "-": function () { faster(-1); },
    "Home": go(function () { asked = {}; film.show(0); }), "End": go(function () { film.show(frames.length - 1); }),
    "d": function () { document.documentElement.classList.toggle("dark"); again(); },
    "b": blank, ".": blank,
    "f": function () { if (document.fullscreenElement) { document.exitFullscreen(); } else {
      document.documentElement.requestFullscreen(); } }
  };
  document.querySelectorAll(".way").forEach(function (link) {
    keys[link.dataset.key] = function () { location.href = link.href; };
  });
  function again() { var open = !ask.hidden; film.show(film.at()); ask.hidden = !open; }
  function blank() { film.stop(); document.querySelector("main").classList.toggle("blank"); }
  function named(event) {  // the key as it is printed, whether Shift or Caps Lock is on or not
    if (event.code === "Period") { return "."; }
    return event.key.length === 1 ? event.key.toLowerCase() : event.key;
  }
  document.addEventListener("keydown", function (event) {
    var key = named(event);
    if (event.ctrlKey || event.altKey || event.metaKey || !keys[key]) { return; }
    if (key === " " && /^(BUTTON|A)$/.test(event.target.tagName)) { return; }
    event.preventDefault(); keys[key]();
  });
  box.querySelector(".previous").onclick = go(back);
  box.querySelector(".next").onclick = go(forward);
  range.oninput = function () { var k = +range.value; film.stop(); film.show(k); };
  play.onclick = toggle;
  window.addEventListener("resize", room);
  say(); room(); film.show(0);
})();
