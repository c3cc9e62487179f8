// Puts inches beside the lengths of the text in view, and takes them away again; the rule comes from lengths.py.
(function (rule) {
  if (window.workshopUnits) { return; }
  var length = new RegExp(rule.pattern, "g"), one = /[-+−]?[0-9]+(?:\.[0-9]+)?/g, kept = new WeakMap();
  var leave = "code, script, style, svg, .highlight, mjx-container, .MathJax, .jupyter-widgets, .workshop-units";

  function inch(figure, held) {
    var value = Number(figure.replace("−", "-").replace("+", "")) / held;
    var parts = Math.abs(value).toExponential(2).split("e"), digits = parts[0].replace(".", ""), power = Number(parts[1]);
    if (value === 0) { digits = "000"; power = 0; }
    var said = power >= 2 ? digits + "0".repeat(power - 2) :
      power >= 0 ? digits.slice(0, power + 1) + "." + digits.slice(power + 1) : "0." + "0".repeat(-power - 1) + digits;
    if (said.indexOf(".") >= 0) { said = said.replace(/0+$/, "").replace(/\.$/, ""); }
    return (figure[0] === "+" ? "+" : figure[0] === "-" || figure[0] === "−" ? "-" : "") + said;
  }
  function both(text) {
    return text.replace(length, function (all, list, unit, sides, mm, single, its) {
      var figures = list || sides || single, name = list ? unit : sides ? mm : its;
      var slope = name.indexOf("/m") >= 0 || /\sin\s/.test(name);
      var factor = rule.factors[slope ? "slope" : name.replace(/s$/, "")];
      figures = figures.replace(/[\n\u00a0\u202f]/g, " ").replace(one, function (f) { return inch(f, factor[0]); });
      return all + " (" + figures + " " + factor[1] + ")";
    });
  }
  function turn(holder, key, inches) {
    var now = holder[key], was = kept.get(holder);
    if (!was || now !== was[0] && now !== was[1]) { was = [now, both(now)]; kept.set(holder, was); }
    if (now !== was[inches ? 1 : 0]) { holder[key] = was[inches ? 1 : 0]; }
  }
  function walk(root, inches) {
    var nodes = document.createTreeWalker(root, NodeFilter.SHOW_TEXT), node;
    while ((node = nodes.nextNode())) {
      if (kept.has(node) || inches && /[0-9]/.test(node.data) && !node.parentElement.closest(leave)) { turn(node, "data", inches); }
    }
    root.querySelectorAll("img[alt]").forEach(function (picture) {
      if (kept.has(picture) || inches && !picture.closest(leave)) { turn(picture, "alt", inches); }
    });
  }
  function sweep() {
    var page = document.querySelector("main[data-units]");
    if (page) { walk(page, page.dataset.units === "inch"); }
    document.querySelectorAll(".jp-Notebook").forEach(function (notebook) {
      var mark = notebook.querySelector(".workshop-units-inch, .workshop-units-mm");
      if (mark) { notebook.workshopInches = mark.classList.contains("workshop-units-inch"); }
      if (notebook.workshopInches === undefined) { return; }
      notebook.querySelectorAll(".jp-RenderedMarkdown, .jp-RenderedText, .jp-RenderedHTML").forEach(function (text) {
        walk(text, notebook.workshopInches);
      });
    });
  }
  var waiting = false;
  function soon() {
    if (waiting) { return; }
    waiting = true;
    window.requestAnimationFrame(function () { waiting = false; sweep(); });
  }
  function matters(change) {
    var part = change.target.nodeType === 1 ? change.target : change.target.parentElement;
    if (!part) { return false; }
    if (change.type === "attributes") { return part.classList.contains("workshop-units"); }
    return !part.closest(".workshop-panel") && !!part.closest(".jp-Notebook, main[data-units]");
  }
  new MutationObserver(function (changes) { if (changes.some(matters)) { soon(); } }).observe(document.body,
    { childList: true, characterData: true, subtree: true, attributes: true, attributeFilter: ["class"] });

  function choose(units) {
    var page = document.querySelector("main[data-units]");
    page.dataset.units = units;
    try { window.localStorage.setItem("workshop-units", units); } catch (refused) { /* a page from a file may keep nothing */ }
    sweep();
  }
  var box = document.querySelector("fieldset.workshop-units");
  if (box) {
    var left = null;
    try { left = window.localStorage.getItem("workshop-units"); } catch (refused) { /* metric then */ }
    box.hidden = false;
    box.querySelectorAll("input").forEach(function (button) {
      button.checked = left ? button.value === left : button.defaultChecked;
      button.onchange = function () { choose(button.value); };
      if (button.checked) { document.querySelector("main[data-units]").dataset.units = button.value; }
    });
  }
  window.workshopUnits = { both: both, sweep: sweep, plain: function (root) { walk(root, false); } };
  sweep();
})(RULE);
