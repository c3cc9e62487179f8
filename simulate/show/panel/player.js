(function () {
  var box = document.getElementById("ID"), kept = [];
  var frames = JSON.parse(document.getElementById("ID-frames").textContent);
  var words = JSON.parse(document.getElementById("ID-words").textContent);
  var caption = box.querySelector("p"), range = box.querySelector("input"), play = box.querySelector(".play");
  kept[0] = box.querySelector("img");
  var film = workshopFilm(box.querySelector(".workshop-looks"), {
    count: frames.length,
    pace: function () { return 1000 / PACE; },
    picture: function (k) {
      if (!kept[k]) { kept[k] = kept[0].cloneNode(); kept[k].alt = words[k]; kept[k].src = frames[k]; }
      return kept[k];
    },
    said: function (k) {
      caption.textContent = words[k]; range.value = k;
      range.setAttribute("aria-valuetext", "picture " + (k + 1) + " of " + frames.length);
    },
    free: function () { return true; }, held: function () {},
    state: function (playing) { play.textContent = playing ? "Pause" : "Play"; }
  });
  function go(by) { return function () { film.stop(); film.show(+range.value + by); }; }
  box.querySelector(".previous").onclick = go(-1);
  box.querySelector(".next").onclick = go(1);
  range.oninput = function () { var k = +range.value; film.stop(); film.show(k); };
  play.onclick = function () { if (film.playing()) { film.stop(); } else { film.play(); } };
  if (AUTO) { film.play(); }
})();
