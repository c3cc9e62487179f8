// Keys for gloves, and every figure sent to the computer as it is typed; what could not be sent waits on the phone.
(function () {
  'use strict';
  var main = document.querySelector('main[data-sheet]');
  function part(name) { return document.getElementById(name); }
  function show(element, words) { if (element) { element.textContent = words; element.hidden = !words; } }
  var store;
  try { store = window.localStorage; store.getItem('bench'); } catch (refused) { store = null; }
  function keyOf(sheet, at) { return 'bench ' + sheet + ' ' + at; }
  // every cell has a place of its own in the store, or two pages of one phone would write over each other's
  function kept(sheet) {
    var found = {}, start = keyOf(sheet, '');
    for (var k = 0; store && k < store.length; k++) {
      var key = store.key(k);
      if (key.indexOf(start) !== 0) { continue; }
      try { found[key.slice(start.length)] = JSON.parse(store.getItem(key)); } catch (spoilt) { continue; }
    }
    return found;
  }

  // figures that an older page left waiting lie under one key a sheet: each goes to its own place
  Object.keys(store || {}).filter(function (key) { return /^bench \S+$/.test(key); }).forEach(function (old) {
    try {
      var held = JSON.parse(store.getItem(old));
      Object.keys(held).forEach(function (at) {
        var key = keyOf(old.slice(6), at);
        if (store.getItem(key) === null) { store.setItem(key, JSON.stringify(held[at])); }
      });
      store.removeItem(old);
    } catch (trouble) { return; }  // spoilt, or the store is full: it stays as it is
  });

  document.querySelectorAll('[data-sheet-link]').forEach(function (link) {
    if (Object.keys(kept(link.dataset.sheetLink)).length) {
      show(part('waiting'), 'Some figures on this phone have not reached the computer yet: open their set, and they are sent.');
    }
  });
  if (!main) { return; }

  var sheet = main.dataset.sheet, here = '/set/' + sheet, version = main.dataset.version;
  var waits = kept(sheet), sending = null, timer = 0, gone = false, AT_ONCE = 200;
  var refused = {}, why = '';  // what the computer would not take, by cell, and its words
  function remember(at) {
    try {
      if (!store) { throw new Error(); }
      store.setItem(keyOf(sheet, at), JSON.stringify(waits[at]));
    } catch (full) { show(part('trouble'), 'This phone cannot store figures: do not close the page before it says kept.'); }
  }
  function forget(at, sent) {
    if (same(waits[at], sent)) { delete waits[at]; }
    if (store && store.getItem(keyOf(sheet, at)) === JSON.stringify(sent)) { store.removeItem(keyOf(sheet, at)); }
  }
  function same(one, other) { return JSON.stringify(one) === JSON.stringify(other); }
  function toSend() { return Object.keys(waits).filter(function (at) { return !same(waits[at], refused[at]); }); }
  function put(at, words) {
    waits[at] = [words, at in waits ? waits[at][1] : version];
    delete refused[at];
    remember(at);
    show(part('kept'), '');
    window.clearTimeout(timer);
    timer = window.setTimeout(send, 250);
  }
  var SILENT = 'The computer does not answer. Carry on: what you type stays on this phone, and is sent when it answers again.';
  var OUT = 'The computer no longer knows this phone. What you typed is still here: scan the code now on its screen, and open this set again.';
  var AWAY = 'This set was put away on the computer. What you typed but did not send is still on this phone.';
  var BUSY = 'The computer is busy. Carry on: what you type stays on this phone, and is sent in a moment.';
  function ask(way, body, last) {
    var given = { method: way, credentials: 'same-origin', cache: 'no-store', keepalive: !!last };
    if (body) { given.headers = { 'Content-Type': 'application/json' }; given.body = body; }
    return fetch(here + (body ? '/cells' : '/state'), given).then(function (answer) {
      if (answer.status === 403) { gone = true; throw new Error(OUT); }
      if (answer.status === 404) { gone = true; throw new Error(AWAY); }
      if (!answer.ok && answer.status !== 409) { throw new Error(BUSY); }
      return answer.json().then(function (told) {
        if (!answer.ok && !told.refused) { var not = new Error(told.why || SILENT); not.final = true; throw not; }
        return told;
      });
    });
  }
  function send(last) {
    window.clearTimeout(timer);
    var cells = toSend();
    if (!cells.length) { return Promise.resolve(!Object.keys(waits).length); }
    if (sending && !last) { return sending; }  // it goes on until nothing waits
    var told = {};
    cells.slice(0, AT_ONCE).forEach(function (at) { told[at] = waits[at].slice(); });
    sending = ask('POST', JSON.stringify({ cells: told }), last === true).then(function (now) {
      sending = null;
      Object.keys(told).forEach(function (at) {
        if (now.refused && at in now.refused) { refused[at] = told[at]; } else { forget(at, told[at]); delete refused[at]; }
      });
      why = now.why || (Object.keys(waits).length ? why : '');
      show(part('trouble'), why);
      follow(now);
      if (toSend().length) { return send(); }
      if (Object.keys(waits).length) { return false; }
      show(part('kept'), 'Kept.');
      return true;
    }, function (fault) {
      sending = null;
      show(part('trouble'), fault instanceof TypeError ? SILENT : fault.message);
      if (!gone && !fault.final) { timer = window.setTimeout(send, 2500); }
      return false;
    });
    return sending;
  }
  window.addEventListener('pagehide', function () { if (!gone) { send(true); } });
  window.addEventListener('online', function () { send(); });

  var note = part('note'), figure = part('figure');
  if (note) { note.addEventListener('input', function () { put('note', note.value); }); }

  // ---- the cells ----
  var form = part('cell'), at = form ? form.elements.at.value : '', across = form && form.elements.way.value === 'across';
  var state = null, fresh = true, typedAt = 0, given = figure ? figure.defaultValue : '';  // what the figure was, untouched
  function link(place) { return document.querySelector('a.cell[data-at="' + place + '"]'); }
  function now(place) { return place in waits ? waits[place][0] : link(place).textContent; }
  function words(place) { return link(place).dataset.said; }
  function order() { return main.dataset[across ? 'across' : 'down'].split(' '); }
  function follow(told) {
    version = told.version;
    state = told;
    if (form) { draw(); }
  }
  function draw() {
    document.querySelectorAll('a.cell').forEach(function (one) {
      var place = one.dataset.at, said = place in waits ? waits[place][0] : state ? state.cells[place] : one.textContent;
      var bad = state ? (!!state.wrong[place] || place in refused) && place !== at : one.classList.contains('bad');
      var two = state ? !!state.also[place] : one.classList.contains('two-said');
      one.textContent = said;
      one.classList.toggle('bad', bad);
      one.classList.toggle('two-said', two);
      if (place === at) { one.setAttribute('aria-current', 'true'); } else { one.removeAttribute('aria-current'); }
      one.setAttribute('aria-label', one.dataset.said + ': ' + (said || 'empty') + (bad ? ', cannot be read' : '') + (two ? ', also typed differently' : ''));
    });
    if (!state) { return; }
    part('filled').textContent = Object.keys(state.cells).filter(function (place) { return now(place); }).length;
    var typing = !fresh && Date.now() - typedAt < 1500, also = state.also[at] || [];
    show(part('why'), typing ? '' : state.wrong[at] || '');
    if (state.wrong[at] && !typing) { figure.setAttribute('aria-invalid', 'true'); } else { figure.removeAttribute('aria-invalid'); }
    part('also').hidden = !also.length;
    part('also-words').textContent = also.map(function (one) { return one || 'nothing'; }).join(', ');
    part('keep').textContent = 'Keep ' + (now(at) || 'it empty');
    if (!(at in waits) && fresh) { figure.value = given = state.cells[at]; }
    var list = part('faults');
    list.textContent = '';
    var others = Object.keys(state.wrong).filter(function (place) { return place !== at; });
    show(part('more-faults'), others.length > 2 ? 'and ' + (others.length - 2) + ' more, marked in the grid.' : '');
    others.slice(0, 2).forEach(function (place) {
      var line = document.createElement('li'), to = document.createElement('a');
      to.className = 'key wide line wrong';
      to.href = '?at=' + place;
      to.dataset.at = place;
      to.textContent = state.wrong[place];
      line.appendChild(to);
      list.appendChild(line);
    });
  }
  function settle() {
    var plain = window.workshopPointed(figure.value);
    if (plain !== figure.value) { figure.value = plain; }
    if (plain !== given) { given = plain; put(at, plain); }  // what others typed since is put back by no look at it
  }
  function go(place, focus) {
    settle();
    at = place;
    fresh = true;
    show(part('end'), '');
    form.elements.at.value = at;
    figure.value = given = now(at);
    part('said').textContent = words(at);
    part('spoken').textContent = words(at) + ', ' + (figure.value || 'empty');
    send();
    draw();
    var one = link(at);
    var box = one.closest('.wide-box'), from = one.getBoundingClientRect(), room = box.getBoundingClientRect();
    var side = box.querySelector('tbody th[scope=row]').offsetWidth + 8, head = box.querySelector('thead').offsetHeight + 8;
    if (from.left < room.left + side) { box.scrollLeft -= room.left + side - from.left; }
    if (from.right > room.right) { box.scrollLeft += from.right - room.right + 8; }
    if (from.top < room.top + head) { box.scrollTop -= room.top + head - from.top; }
    if (from.bottom > room.bottom) { box.scrollTop += from.bottom - room.bottom + 8; }
    if (focus) { figure.focus(); figure.select(); }
    try { history.replaceState(null, '', '?at=' + at + '&way=' + (across ? 'across' : 'down')); } catch (refused) { return; }
  }
  function step(by, focus) {
    var all = order(), next = all.indexOf(at) + by;
    if (next < 0 || next >= all.length) {
      settle();
      send();
      show(part('end'), by > 0 ? 'That was the last cell. Press Read to see what the readings say.' : 'That is the first cell.');
      return;
    }
    go(all[next], focus);
  }
  function typed() {
    fresh = false;
    typedAt = Date.now();
    given = figure.value;
    put(at, given);
    draw();
    window.setTimeout(draw, 1600);
  }
  var between = !!document.querySelector('[data-key="<"]');
  function key(sign, whole) {
    var was = figure.value.replace(/^dark$/, ''), old = fresh ? '' : was;
    if (sign === 'back') { figure.value = was.slice(0, -1); }
    else if (whole) { figure.value = sign; }
    else if (sign === '<' || sign === '>') { figure.value = sign + was.replace(/^[<>]/, ''); }
    else if (sign === '-' && !between) { figure.value = was.charAt(0) === '-' ? was.slice(1) : '-' + was; }
    else if (sign === '-' || sign === ' to ') { figure.value = was + sign; }
    else { figure.value = old + sign; }
    typed();
  }
  if (form) {
    document.querySelectorAll('.keys, .more').forEach(function (row) { row.hidden = false; });
    var board = part('board'), own = false;
    board.hidden = false;
    figure.setAttribute('inputmode', 'none');
    board.addEventListener('click', function () {
      own = !own;
      board.setAttribute('aria-pressed', String(own));
      figure.setAttribute('inputmode', own ? 'decimal' : 'none');
      document.querySelector('.keys').hidden = own;
      figure.focus();
    });
    figure.addEventListener('input', typed);
    figure.addEventListener('blur', function () { settle(); send(); });
    document.addEventListener('mousedown', function (event) {
      if (event.target.closest('[data-key]')) { event.preventDefault(); }  // or the figure loses the focus
    });
    figure.addEventListener('keydown', function (event) {
      if (event.key !== 'Enter' || event.isComposing) { return; }
      event.preventDefault();
      step(event.shiftKey ? -1 : 1, true);
    });
    form.addEventListener('submit', function (event) {
      var way = event.submitter ? event.submitter.value : 'next';
      event.preventDefault();
      if (way === 'next' || way === 'back') { step(way === 'next' ? 1 : -1, false); return; }
      if (way === 'keep') { figure.value = given = now(at); waits[at] = [given, version]; remember(at); send(); return; }
      settle();
      send().then(function (all) { if (all) { window.location.href = here + '/told'; } });
    });
    document.addEventListener('click', function (event) {
      var pressed = event.target.closest('[data-key]'), to = event.target.closest('a[data-at]'), turn = event.target.closest('#turn');
      if (pressed) { key(pressed.dataset.key, pressed.dataset.whole); }
      if (to) { event.preventDefault(); go(to.dataset.at, false); }
      if (turn) {
        event.preventDefault();
        across = !across;
        form.elements.way.value = across ? 'across' : 'down';
        turn.textContent = across ? 'Next goes along the row: turn' : 'Next goes down the column: turn';
      }
    });
    window.setInterval(function () {
      if (document.hidden || gone || sending || toSend().length) { return; }
      ask('GET').then(function (told) { show(part('trouble'), why); follow(told); }, function (fault) {
        show(part('trouble'), fault instanceof TypeError ? SILENT : fault.message);
      });
    }, 4000);
    if (figure.value !== given) { typed(); }  // before this script was there
    if (Object.keys(waits).length) { if (at in waits) { figure.value = given = waits[at][0]; } draw(); }
  }
  if (Object.keys(waits).length) { if (note && waits.note) { note.value = waits.note[0]; } send(); }
})();
