// After "Run All Cells" the Lab shows a lesson's last cell. A reader begins at the first: make that the one in hand.
(function () {
  var lesson = Array.from(document.querySelectorAll(".jp-Notebook")).find(function (one) { return one.offsetParent; });
  var inHand = lesson && lesson.querySelector(".jp-Cell.jp-mod-active");
  var first = lesson && lesson.querySelector(".jp-Cell");
  var afterIt = inHand && inHand.nextElementSibling;
  if (!inHand || inHand === first || (afterIt && afterIt.classList.contains("jp-Cell"))) { return; } // one cell was run
  first.dispatchEvent(new MouseEvent("mousedown", { bubbles: true, button: 0 }));
  document.dispatchEvent(new MouseEvent("mouseup", { bubbles: true, button: 0 }));
  var page = first.closest(".jp-WindowedPanel-outer") || lesson;
  page.scrollTop = 0;
})();
