// Looks up words in the parts of the lessons; all of it stands in this page, and it needs no Internet connection.
(function () {
  var places = JSON.parse(document.getElementById('search-places').textContent);
  var form = document.getElementById('search'), field = form.elements.q;
  var told = document.getElementById('search-told'), list = document.getElementById('search-found');
  var MOST = 30, AROUND = 60;
  function plain(text) {
    return text.toLowerCase().normalize('NFKD').replace(/[\u0300-\u036f]/g, '').replace(/\u03bc/g, 'u');
  }
  places.forEach(function (place) {
    place.head = plain(place[2] + ' ' + place[3]);
    place.all = place.head + ' ' + plain(place[4]);
  });
  function counted(text, word) { return text.split(word).length - 1; }
  function weight(place, words) {
    var sum = 0;
    for (var k = 0; k < words.length; k++) {
      var found = counted(place.all, words[k]);
      if (!found) { return 0; }
      sum += Math.min(found, 5) + 10 * counted(place.head, words[k]);
    }
    return sum;
  }
  function around(text, word) {
    var at = Math.max(plain(text).indexOf(word), 0), from = Math.max(at - AROUND, 0);
    return (from ? '\u2026 ' : '') + text.slice(from, at + 2 * AROUND) + (at + 2 * AROUND < text.length ? ' \u2026' : '');
  }
  function row(place, word) {
    var item = document.createElement('li'), link = document.createElement('a'), said = document.createElement('p');
    link.href = place[0] + (place[1] ? '#' + place[1] : '');
    link.textContent = place[2] + (place[3] ? ': ' + place[3] : '');
    said.textContent = around(place[4], word);
    item.append(link, said);
    return item;
  }
  function look() {
    var words = plain(field.value).split(/\s+/).filter(Boolean);
    list.replaceChildren();
    if (!words.length) { told.textContent = ''; return; }
    var found = places.map(function (place) { return [weight(place, words), place]; });
    found = found.filter(function (one) { return one[0]; }).sort(function (a, b) { return b[0] - a[0]; });
    told.textContent = !found.length ? 'No part of a lesson holds all of these words. Try fewer, or the start of a word.'
      : found.length + (found.length === 1 ? ' part' : ' parts') + (found.length > MOST ? ', the first ' + MOST + ':' : ':');
    found.slice(0, MOST).forEach(function (one) { list.append(row(one[1], words[0])); });
  }
  form.hidden = false;
  form.addEventListener('submit', function (event) { event.preventDefault(); look(); });
  field.addEventListener('input', look);
  field.value = new URLSearchParams(location.search).get('q') || '';
  look();
})();
