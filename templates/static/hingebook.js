// "/" goes to the search, wherever one is reading.
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select, [contenteditable]");
  const search = document.querySelector("input.finds");
  if (event.key === "/" && !typing && search && !event.ctrlKey && !event.metaKey && !event.altKey) {
    event.preventDefault();
    search.focus();
    search.select();
  }
});

// What lies behind "More" closes by Escape, and when one goes elsewhere.
const more = document.querySelector("details.more");
if (more) {
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && more.open) {
      more.open = false;
      more.querySelector("summary").focus();
    }
  });
  for (const kind of ["pointerdown", "focusin"]) {
    document.addEventListener(kind, (event) => {
      if (more.open && !more.contains(event.target)) more.open = false;
    });
  }
}
