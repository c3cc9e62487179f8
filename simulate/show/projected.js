(function () {
  var box = document.querySelector(".workshop-player"), name = box.id;
  function read(part) { return JSON.parse(document.getElementById(name + part).textContent); }
  var frames = read("-frames"), words = read("-words"), asks = read("-asks"), inks = read("-dark"), speeds = read("-speeds");
  var picture = box.querySelector("img"), caption = box.querySelector("p"), range = box.querySelector("input");
  var play = box.querySelector(".play"), ask = document.querySelector(".ask"), told = document.querySelector(".speed");
  var at = 0, asked = {}, playing = false, due = 0, speed = Math.min(2, speeds.length - 1), kept = { light: [], dark: [] };
  window.workshopShown = 0;
  function darkened(source, ink) {  // the same picture with its other palette, which is as long
    if (!ink) { return source; }
    var all = atob(source.split(",")[1]), part = atob(ink), from = all.indexOf("PLTE") - 4;
    return "data:image/png;base64," + btoa(all.slice(0, from) + part + all.slice(from + part.length));
  }
  function shade() { return document.documentElement.classList.contains("dark") ? "dark" : "light"; }
  function prepare(name) {
    if (kept[name].length) { return; }
    kept[name] = frames.map(function (source, k) {
      var one = picture.cloneNode();
      one.decoding = "sync"; one.alt = words[k]; one.src = name === "dark" ? darkened(source, inks[k]) : source;
      return one;
    });
  }
  function room() {  // the longest sentence decides how much of the screen all of them get
    var most = 0;
    caption.style.height = "auto";
    words.forEach(function (text) { caption.textContent = text; most = Math.max(most, caption.offsetHeight); });
    caption.style.height = most + "px"; caption.textContent = words[at];
  }
  function say() { told.textContent = speeds[speed] + (speeds[speed] === 1 ? " picture" : " pictures") + " a second"; }
  function show(k) {
    at = Math.min(Math.max(k, 0), frames.length - 1);
    ask.hidden = true;
    prepare(shade());
    var next = kept[shade()][at];
    if (next !== picture) { picture.replaceWith(next); picture = next; }
    caption.setAttribute("aria-live", playing ? "off" : "polite");
    caption.textContent = words[at]; range.value = at;
    range.setAttribute("aria-valuetext", "picture " + (at + 1) + " of " + frames.length);
    window.workshopShown += 1;
  }
  function beyond(by) {  // by hand a step goes to the next look, past pictures drawn halfway, which share its words
    var k = at + by;
    while (!playing && k > 0 && k < frames.length - 1 && words[k] === words[at] && !asks[k]) { k += by; }
    while (!playing && by < 0 && k > 0 && words[k - 1] === words[k]) { k -= 1; }
    return k;
  }
  function forward() {
    var next = beyond(1);
    if (ask.hidden && asks[next] && !asked[next]) {
      asked[next] = true; ask.textContent = asks[next]; ask.hidden = false; stop();
      return;
    }
    show(next);
    if (at >= frames.length - 1) { stop(); }
  }
  function back() { if (!ask.hidden) { ask.hidden = true; return; } show(beyond(-1)); }
  function stop() { playing = false; play.textContent = "Play"; }
  function beat(now) {
    if (!playing) { return; }
    if (now >= due) { due = Math.max(due + 1000 / speeds[speed], now); forward(); }
    window.requestAnimationFrame(beat);
  }
  function toggle() {
    if (playing) { stop(); return; }
    if (at >= frames.length - 1) { asked = {}; show(0); }
    playing = true; play.textContent = "Pause"; due = performance.now() + 1000 / speeds[speed];
    if (!ask.hidden) { forward(); playing = true; play.textContent = "Pause"; }
    window.requestAnimationFrame(beat);
  }
  function faster(by) { speed = Math.min(Math.max(speed + by, 0), speeds.length - 1); say(); }
  function go(act) { return function () { stop(); act(); }; }
  var keys = {
    " ": toggle, "ArrowRight": go(forward), "PageDown": go(forward), "ArrowLeft": go(back), "PageUp": go(back),
    "ArrowUp": function () { faster(1); }, "ArrowDown": function () { faster(-1); },
    "+": function () { faster(1); }, "-": function () { faster(-1); },
    "Home": go(function () { asked = {}; show(0); }), "End": go(function () { show(frames.length - 1); }),
    "d": function () { document.documentElement.classList.toggle("dark"); again(); },
    "b": blank, ".": blank,
    "f": function () { if (document.fullscreenElement) { document.exitFullscreen(); } else {
      document.documentElement.requestFullscreen(); } }
  };
  function again() { var open = !ask.hidden; show(at); ask.hidden = !open; }
  function blank() { document.querySelector("main").classList.toggle("blank"); }
  document.addEventListener("keydown", function (event) {
    if (event.ctrlKey || event.altKey || event.metaKey || !keys[event.key]) { return; }
    if (event.key === " " && event.target.tagName === "BUTTON") { return; }
    event.preventDefault(); keys[event.key]();
  });
  box.querySelector(".previous").onclick = go(back);
  box.querySelector(".next").onclick = go(forward);
  range.oninput = go(function () { show(+range.value); });
  play.onclick = toggle;
  window.addEventListener("resize", room);
  say(); room(); show(0);
})();
