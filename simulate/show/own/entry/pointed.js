// a decimal comma becomes a point where it can be nothing else; 1,000 may be a thousand and is left to be asked about
window.workshopPointed = function (words) {
  return words.trim().replace(/(^|[^0-9,.])([0-9]+),([0-9]+)(?![0-9,.])/g, function (all, before, whole, part) {
    return part.length === 3 && Number(whole) > 0 ? all : before + whole + '.' + part;
  });
};
