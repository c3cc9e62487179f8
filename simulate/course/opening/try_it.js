// Puts the step of "Try it" that is being done over the panel which it directs. Its words are read from the lesson's own list.
(function () {
  if (window.workshopSteps) { return; }
  window.workshopSteps = true;
  var waiting = false;
  function stepsOf(cell) {
    var before = cell.previousElementSibling;
    var head = before && Array.from(before.querySelectorAll("h1, h2, h3")).find(function (one) {
      return /^Try it/.test(one.textContent);
    });
    return head ? Array.from(before.querySelectorAll("ol > li")) : [];
  }
  function button(line, sign, words, by) {
    var made = document.createElement("button");
    made.type = "button";
    made.textContent = sign;
    made.title = words;
    made.setAttribute("aria-label", words);
    made.addEventListener("click", function () { go(line, by); });
    line.appendChild(made);
    return made;
  }
  function go(line, by) {
    var cell = line.closest(".jp-Cell"), steps = stepsOf(cell);
    if (!steps.length) { return; }
    var at = cell.workshopStep = Math.min(Math.max((cell.workshopStep || 0) + by, 0), steps.length - 1);
    var told = line.lastChild, step = (steps[at].querySelector(":scope > p") || steps[at]).cloneNode(true);
    step.querySelectorAll(".workshop-term").forEach(function (term) { term.replaceWith(term.textContent); });
    var words = "Step " + (at + 1) + " of " + steps.length + ": " + step.innerHTML.trim();
    if (told.workshopWords !== words) { told.innerHTML = told.workshopWords = words; }
    told.tabIndex = told.scrollHeight > told.clientHeight ? 0 : -1; // a long step is scrolled, by keys too
    line.children[0].disabled = at === 0;
    line.children[1].disabled = at === steps.length - 1;
  }
  function put(panel) {
    var line = document.createElement("div");
    line.className = "workshop-step";
    line.setAttribute("role", "group");
    line.setAttribute("aria-label", "Try it");
    button(line, "‹", "Previous step", -1);
    button(line, "›", "Next step", 1);
    line.appendChild(document.createElement("p")).setAttribute("role", "status");
    panel.insertBefore(line, panel.firstChild);
    return line;
  }
  function find() {
    waiting = false;
    document.querySelectorAll(".jp-CodeCell").forEach(function (cell) {
      var panel = cell.querySelector(".workshop-panel");
      if (!panel || !stepsOf(cell).length) { return; }
      var line = panel.querySelector(":scope > .workshop-step") || put(panel);
      if (panel.firstChild !== line) { panel.insertBefore(line, panel.firstChild); } // the panel was rebuilt where it stands
      go(line, 0);
    });
  }
  function soon() {
    if (!waiting) { waiting = true; window.requestAnimationFrame(find); }
  }
  new MutationObserver(soon).observe(document.body, { childList: true, subtree: true });
  find();
})();
