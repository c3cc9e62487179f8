// Moves among the cells of an entry grid, and hands the kernel what is typed into them. The kernel makes text of it.
(function () {
  if (window.workshopEntry) { return; }
  window.workshopEntry = true;
  var look = document.createElement('style');
  look.textContent = '.workshop-grid-asleep { display: none; }';
  document.head.appendChild(look);
  var sent = 0, soon = 0, coming = 0, steps = new WeakMap(), watched = new WeakSet();
  var pageName = Math.random().toString(36).slice(2) + Date.now().toString(36);  // of this load of the page

  function cellOf(event) { return event.target.matches && event.target.matches('.workshop-grid input') ? event.target : null; }
  function gridOf(cell) { return cell.closest('.workshop-grid'); }
  function panelOf(part) { return part.closest('.workshop-panel'); }
  function every(grid) { return Array.from(grid.querySelectorAll('input')); }
  function at(grid, row, column) { return grid.querySelector('input[data-at="' + row + ',' + column + '"]'); }
  function placeOf(cell) { return cell.dataset.at.split(',').map(Number); }
  function say(grid, words) { grid.querySelector('.workshop-grid-said').textContent = words; }
  function told(panel) { return panel.querySelector('.workshop-grid-told'); }

  var pointed = window.workshopPointed;

  function send(grid) {
    window.clearTimeout(soon);
    var panel = panelOf(grid), field = panel.querySelector('.workshop-entry-cells input'), cells = {}, since = {};
    var typed = every(grid).filter(function (cell) { return cell.value !== agreed(cell); });
    if (!typed.length) { return; }
    grid.workshopNumber = ++sent;
    typed.forEach(function (cell) { cell.workshopAgreed = cell.value; cell.workshopSince = sent; });
    every(grid).filter(function (cell) { return cell.workshopSince; }).forEach(function (cell) {
      cells[cell.dataset.at] = cell.value;
      since[cell.dataset.at] = cell.workshopSince;
    });
    field.value = JSON.stringify({ page: pageName, number: sent, stamp: Number(grid.dataset.stamp), cells: cells, since: since });
    field.dispatchEvent(new Event('input', { bubbles: true }));
    field.dispatchEvent(new Event('change', { bubbles: true }));
    if (window.workshopPulse && window.workshopPulse.watch) {
      window.workshopPulse.watch(panel, function () { return !waits(panel); });
    }
  }
  function waits(panel) {
    var grid = panel.querySelector('.workshop-grid'), line = told(panel);
    return !!(grid && grid.workshopNumber && line && line.dataset.stamp === grid.dataset.stamp &&
      (JSON.parse(line.dataset.heard)[pageName] || 0) < grid.workshopNumber);
  }
  // what a cell said when this page last told it to the kernel, or was told it
  function agreed(cell) { return cell.workshopAgreed === undefined ? cell.defaultValue : cell.workshopAgreed; }
  // shows what was typed before this page was loaded, or in another window; what is typed here and not yet sent stays
  function follow(grid, line) {
    var cells = JSON.parse(line.dataset.cells);
    every(grid).forEach(function (cell) {
      var words = cell.dataset.at in cells ? cells[cell.dataset.at] : cell.defaultValue;
      if (cell === document.activeElement || cell.value === words || cell.value !== agreed(cell)) { return; }
      cell.value = cell.workshopAgreed = words;
      cell.workshopSince = 0;
    });
  }
  function mark(panel) {
    var grid = panel.querySelector('.workshop-grid'), line = told(panel);
    if (!grid || !line || line.dataset.stamp !== grid.dataset.stamp) { return; }
    if (!waits(panel)) { follow(grid, line); }
    var wrong = JSON.parse(line.dataset.wrong);
    every(grid).forEach(function (cell) {
      var bad = wrong.indexOf(cell.dataset.at) >= 0 && cell !== document.activeElement;
      cell.parentElement.classList.toggle('wrong', bad);
      if (bad) { cell.setAttribute('aria-invalid', 'true'); } else { cell.removeAttribute('aria-invalid'); }
    });
  }
  function watch(panel) {
    var line = told(panel), holder = line && line.parentElement;
    if (!holder || watched.has(holder)) { return; }
    watched.add(holder);
    new MutationObserver(function () { mark(panel); }).observe(holder, { childList: true, subtree: true });
    mark(panel);
  }
  window.setInterval(function () {
    document.querySelectorAll('.workshop-panel .workshop-grid-told').forEach(function (line) { watch(panelOf(line)); });
  }, 400);

  function step(cell, down, right, wrap) {
    var grid = gridOf(cell), all = every(grid), rows = 0, columns = 0, place = placeOf(cell);
    all.forEach(function (one) { var p = placeOf(one); rows = Math.max(rows, p[0]); columns = Math.max(columns, p[1]); });
    var row = place[0], column = place[1], found = null;
    while (!found) {
      row += down;
      column += right;
      if (wrap && row > rows) { row = 0; column += 1; }
      if (wrap && row < 0) { row = rows; column -= 1; }
      if (row < 0 || row > rows || column < 0 || column > columns) { break; }
      found = at(grid, row, column);
    }
    if (found) { found.focus(); } else if (wrap && down > 0) { send(grid); say(grid, 'That was the last cell. Ctrl Enter reads them.'); cell.select(); }
  }
  function keep(grid, before) {
    if (!steps.has(grid)) { steps.set(grid, []); }
    steps.get(grid).push(before);
  }
  function put(cell, words) { cell.value = words; }

  function paste(cell, text) {
    var lines = text.replace(/\r\n?/g, '\n').replace(/\n+$/, '').split('\n'), grid = gridOf(cell), from = placeOf(cell);
    var cells = lines.map(function (line) { return line.split('\t'); });
    var found = [], short = 0;
    cells.forEach(function (line, i) {
      line.forEach(function (words, j) {
        var there = at(grid, from[0] + i, from[1] + j);
        if (there) { found.push([there, pointed(words)]); } else { short += 1; }
      });
    });
    if (short) {
      say(grid, 'Not pasted: ' + short + ' of ' + (found.length + short) + ' figures have no cell below and beside this one. No cell was changed.');
      return;
    }
    keep(grid, found.map(function (one) { return [one[0], one[0].value]; }));
    found.forEach(function (one) { put(one[0], one[1]); });
    cell.dataset.before = cell.value;
    say(grid, found.length + ' cells were pasted; Ctrl Z takes them back.');
    send(grid);
  }
  function back(grid) {
    var before = (steps.get(grid) || []).pop();
    if (!before) { say(grid, 'There is no step to take back.'); return; }
    before.forEach(function (one) { put(one[0], one[1]); });
    before[0][0].focus();
    before[0][0].dataset.before = before[0][0].value;
    say(grid, before.length === 1 ? 'One cell was put back.' : before.length + ' cells were put back.');
    send(grid);
  }
  function settle(cell) {
    var was = cell.dataset.before, now = pointed(cell.value);
    if (cell.value !== now) { put(cell, now); }
    if (was !== undefined && was !== now) { keep(gridOf(cell), [[cell, was]]); cell.dataset.before = now; }
  }

  document.addEventListener('focusin', function (event) {
    var cell = cellOf(event);
    if (!cell) { return; }
    every(gridOf(cell)).forEach(function (one) { one.readOnly = false; });
    cell.dataset.before = cell.value;
    cell.select();
    watch(panelOf(cell));
  });
  document.addEventListener('focusout', function (event) {
    var cell = cellOf(event);
    if (!cell) { return; }
    settle(cell);
    send(gridOf(cell));
    window.setTimeout(function () { if (document.contains(cell)) { mark(panelOf(cell)); } }, 0);
  });
  document.addEventListener('input', function (event) {
    var cell = cellOf(event);
    if (!cell) { return; }
    say(gridOf(cell), '');
    window.clearTimeout(soon);
    soon = window.setTimeout(function () { if (document.contains(cell)) { send(gridOf(cell)); } }, 400);
  });
  document.addEventListener('paste', function (event) {
    var cell = cellOf(event), text = cell && event.clipboardData && event.clipboardData.getData('text/plain');
    if (!cell || !text) { return; }
    event.stopPropagation();
    if (/[\n\r\t]/.test(text)) { event.preventDefault(); settle(cell); paste(cell, text); }
  }, true);
  document.addEventListener('keydown', function (event) {
    var cell = cellOf(event);
    if (!cell || event.isComposing) { return; }
    var grid = gridOf(cell), many = event.ctrlKey || event.metaKey, all = every(grid);
    var whole = cell.selectionStart === 0 && cell.selectionEnd === cell.value.length;
    var first = cell.selectionEnd === 0 || whole, last = cell.selectionStart === cell.value.length || whole;
    var act = null;
    if (event.key === 'Enter' && many) {
      act = function () { settle(cell); send(grid); panelOf(grid).querySelector('.workshop-entry-read').click(); };
    } else if (event.key === 'Enter') { act = function () { step(cell, event.shiftKey ? -1 : 1, 0, true); };
    } else if (event.key === 'ArrowDown' && !many) { act = function () { step(cell, 1, 0, false); };
    } else if (event.key === 'ArrowUp' && !many) { act = function () { step(cell, -1, 0, false); };
    } else if (event.key === 'ArrowLeft' && first && !many && !event.shiftKey) { act = function () { step(cell, 0, -1, false); };
    } else if (event.key === 'ArrowRight' && last && !many && !event.shiftKey) { act = function () { step(cell, 0, 1, false); };
    } else if (event.key === 'Home' && many) { act = function () { all[0].focus(); };
    } else if (event.key === 'End' && many) { act = function () { all[all.length - 1].focus(); };
    } else if (event.key === 'Escape' && cell.value !== cell.dataset.before) {
      act = function () { put(cell, cell.dataset.before); cell.select(); send(grid); };
    } else if (event.key.toLowerCase() === 'z' && many && !event.shiftKey && cell.value === cell.dataset.before) {
      act = function () { back(grid); };
    }
    if (act) { event.preventDefault(); event.stopPropagation(); act(); }
  }, true);
  document.addEventListener('click', function (event) {
    var button = event.target.closest && event.target.closest('.workshop-panel .workshop-entry-lay');
    if (button) { focusSoon(panelOf(button)); }
  }, true);
  function focusSoon(panel) {
    var grid = panel.querySelector('.workshop-grid'), stamp = grid && grid.dataset.stamp, start = Date.now();
    window.clearInterval(coming);
    var timer = coming = window.setInterval(function () {
      var now = panel.querySelector('.workshop-grid');
      if (now && now.dataset.stamp !== stamp && now.offsetWidth && now.querySelector('input')) {
        window.clearInterval(timer);
        now.querySelector('input').focus();
      } else if (Date.now() - start > 15000) { window.clearInterval(timer); }
    }, 60);
  }
})();
