// Underlines the first use of each term of the trade in a lesson and shows what it means; the terms come from terms.toml.
(function (terms) {
  if (window.workshopTerms) { return; }
  var leave = "h1, h2, h3, h4, h5, h6, table, a, code, pre, script, style, svg, mjx-container, .MathJax, .jupyter-widgets, "
    + ".workshop-units, .workshop-term, nav, summary, figcaption";
  var look = document.createElement("style"), box = document.createElement("div"), near = null;
  look.textContent = ".workshop-term { text-decoration: underline dotted; text-underline-offset: 3px; cursor: help; }"
    + " .workshop-term-said { position: fixed; z-index: 10000; max-width: min(30em, 92vw); padding: 6px 10px;"
    + " background: #fff; color: #111; border: 2px solid #0072B2; border-radius: 4px; font: 15px/1.4 sans-serif; }"
    + " .workshop-term-said[hidden] { display: none; } @media print { .workshop-term { text-decoration: none; } }";
  document.head.appendChild(look);
  box.className = "workshop-term-said";
  box.setAttribute("role", "tooltip");
  box.hidden = true;
  document.body.appendChild(box);
  terms = terms.map(function (term) {
    var forms = term[1].slice().sort(function (a, b) { return b.length - a.length; }).map(function (form) {
      return form.replace(/[-]/g, "\\-").replace(/ /g, "[ \\n]");
    });
    return { word: term[0], said: term[2], rule: new RegExp("(^|[^\\w-])(" + forms.join("|") + ")(?![\\w-])", "i") };
  });

  // the first text node that holds the term, and the place in it
  function first(texts, term) {
    for (var k = 0; k < texts.length; k++) {
      var found = term.rule.exec(texts[k].data);
      if (found && !texts[k].parentElement.closest(leave)) { return [texts[k], found.index + found[1].length, found[2].length]; }
    }
    return null;
  }
  function textsOf(roots) {
    var texts = [];
    roots.forEach(function (root) {
      var nodes = document.createTreeWalker(root, NodeFilter.SHOW_TEXT), node;
      while ((node = nodes.nextNode())) { if (node.data.trim()) { texts.push(node); } }
    });
    return texts;
  }
  function underline(node, from, many, term) {
    var rest = node.splitText(from), mark = document.createElement("span");
    rest.splitText(many);
    mark.className = "workshop-term";
    mark.dataset.word = term.word;
    rest.parentNode.replaceChild(mark, rest);
    mark.appendChild(rest);
    return mark;
  }
  // in the page, or in a cell that the Lab has put by because it is out of view; not in text that was written anew
  function stands(mark) {
    var top = mark;
    while (top.parentNode) { top = top.parentNode; }
    return top === document || top.nodeType === 1 && (top.matches(".jp-Cell") || !!top.querySelector(".jp-Cell"));
  }
  function note(lesson, roots) {
    var marks = lesson.workshopTerms = lesson.workshopTerms || {}, missing;
    missing = terms.filter(function (term) { return !marks[term.word] || !stands(marks[term.word]); });
    roots = roots.filter(function (root) { return root.workshopTermsOf !== root.innerHTML.length; });
    if (!roots.length || !missing.length) { return; }
    if (window.workshopUnits) { roots.forEach(function (root) { window.workshopUnits.plain(root); }); }
    missing.forEach(function (term) {
      var place = first(textsOf(roots), term);
      if (place) { marks[term.word] = underline(place[0], place[1], place[2], term); }
    });
    if (window.workshopUnits) { window.workshopUnits.sweep(); }
    roots.forEach(function (root) { root.workshopTermsOf = root.innerHTML.length; });
  }
  function sweep() {
    var page = document.querySelector("main[data-units]");
    if (page) { note(page, [page]); }
    document.querySelectorAll(".jp-Notebook").forEach(function (notebook) {
      if (!notebook.querySelector(".workshop-units")) { return; }
      note(notebook, Array.from(notebook.querySelectorAll(".jp-RenderedMarkdown")));
    });
  }

  function show(mark) {
    var term = terms.find(function (one) { return one.word === mark.dataset.word; }), at = mark.getBoundingClientRect();
    var lesson = mark.closest(".jp-Notebook"), page = mark.closest("main[data-units]");
    var inches = lesson ? lesson.workshopInches : page && page.dataset.units === "inch";
    box.textContent = inches && window.workshopUnits ? window.workshopUnits.both(term.said) : term.said;
    box.hidden = false;
    box.style.left = Math.max(8, Math.min(at.left, window.innerWidth - box.offsetWidth - 8)) + "px";
    box.style.top = (at.bottom + box.offsetHeight + 8 < window.innerHeight ? at.bottom + 4 : at.top - box.offsetHeight - 4) + "px";
    near = mark;
  }
  function hide() { box.hidden = true; near = null; }
  function over(event) {
    var mark = event.target.closest && event.target.closest(".workshop-term");
    if (mark) { show(mark); } else if (near && !(event.target.closest && event.target.closest(".workshop-term-said"))) { hide(); }
  }
  document.addEventListener("mouseover", over);
  document.addEventListener("click", over);
  document.addEventListener("keydown", function (event) { if (event.key === "Escape" && near) { hide(); } });
  document.addEventListener("scroll", function () {
    if (near && near.matches(":hover")) { show(near); } else if (near) { hide(); }
  }, true);

  var waiting = 0;
  new MutationObserver(function (changes) {
    var text = changes.some(function (change) {
      var part = change.target.nodeType === 1 ? change.target : change.target.parentElement;
      return part && !part.closest(".workshop-panel, .workshop-term-said") && !!part.closest(".jp-Notebook");
    });
    if (text && !waiting) { waiting = window.setTimeout(function () { waiting = 0; sweep(); }, 300); }
  }).observe(document.body, { childList: true, subtree: true });
  window.workshopTerms = { sweep: sweep };
  sweep();
})(TERMS);
