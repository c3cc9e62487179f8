(function () {  // says what to do where the kernel does not come; gone for good once it was there
  var waited = 0, told = null;
  var timer = setInterval(function () {
    waited += 1;
    var seen = document.querySelector(".jp-Notebook-ExecutionIndicator[data-status]");
    if (seen && /^(idle|busy)$/.test(seen.dataset.status)) {
      clearInterval(timer);
      if (told) { told.remove(); }
      return;
    }
    if (waited === WAIT_S) {
      told = document.createElement("p");
      told.setAttribute("role", "alert");
      told.className = "workshop-no-kernel";
      told.style.cssText = "position:fixed;left:0;right:0;bottom:0;margin:0;padding:12px 20px;z-index:9999;" +
        "background:#fff;color:#000;border-top:6px solid #D55E00;font:16px/1.4 sans-serif";
      told.textContent = "SENTENCE";
      document.body.appendChild(told);
    }
  }, 1000);
})();
