// "/" goes to the search of the page, wherever one is reading.
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select, [contenteditable]");
  const search = document.querySelector("input[type=search]");
  if (event.key === "/" && !typing && search && !event.ctrlKey && !event.metaKey) {
    event.preventDefault();
    search.focus();
  }
});
