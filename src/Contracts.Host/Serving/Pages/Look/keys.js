// Keys for those who look at many accounts. Every page works without this file.
document.addEventListener('keydown', function (event) {
  if (event.ctrlKey || event.metaKey || event.altKey || /^(INPUT|TEXTAREA|SELECT)$/.test(document.activeElement.tagName)) { return; }
  var to = { '/': '#find', '[': '#earlier', ']': '#later', 't': '#today' }[event.key];
  var found = to && document.querySelector(to);
  if (!found) { if (event.key === '/') { location.href = '/'; event.preventDefault(); } return; }
  event.preventDefault();
  if (found.tagName === 'INPUT') { found.focus(); } else { found.click(); }
});
