// Plays a film so that every frame of the screen is a fresh picture: the newer look rises, from clear to opaque, above the
// older one, which stays opaque below until it is covered. By hand, and where less motion is asked for, looks change at once.
// `film` gives count, picture(k), pace() in looks a second, said(k) for the words, free(k) whether look k may follow by
// itself, held(k) where it may not, and state(playing).
function workshopFilm(place, film) {
  var calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  var below = place.querySelector("img"), above = null, at = 0, told = 0, part = 0, then = 0, playing = false;
  function tell(k) { if (k !== told) { told = k; film.said(k); } }
  function alone(k) {
    var one = film.picture(k), old = [below, above];
    one.style.opacity = 1; one.removeAttribute("aria-hidden");
    if (one.parentNode !== place) { place.appendChild(one); }
    old.forEach(function (other) { if (other && other !== one) { other.remove(); } });
    below = one; above = null; at = k;
  }
  function raise(k) {
    if (!above) { above = film.picture(k); above.setAttribute("aria-hidden", "true"); place.appendChild(above); }
    above.style.opacity = part * part * (3 - 2 * part);  // slow near both ends: each look is seen clean
    if (part >= 0.5) { tell(k); }
  }
  function show(k) {
    part = 0; alone(Math.min(Math.max(k, 0), film.count - 1));
    told = at; film.said(at);
  }
  function stop() {
    if (!playing) { return; }
    playing = false; film.state(false); show(told);
  }
  function next() {
    if (!film.free(at + 1)) { var asks = at + 1; stop(); film.held(asks); return; }
    part = Math.min(part - 1, 0.9);
    alone(at + 1); tell(at);
    if (at >= film.count - 1) { stop(); } else if (at < film.count - 2) { film.picture(at + 2).decode().catch(Math.abs); }
  }
  function frame(now) {
    if (!playing || !place.isConnected) { return; }
    part += Math.max(now - then, 0) * film.pace() / 1000; then = now;
    if (part >= 1) { next(); }
    if (!playing) { return; }
    if (!calm.matches && film.free(at + 1)) { raise(at + 1); }
    window.requestAnimationFrame(frame);
  }
  function play() {
    if (playing || film.count < 2) { return; }
    if (at >= film.count - 1) { show(0); }
    playing = true; part = 0; then = performance.now(); film.state(true);
    window.requestAnimationFrame(frame);
  }
  return { show: show, play: play, stop: stop, playing: function () { return playing; }, at: function () { return told; } };
}
