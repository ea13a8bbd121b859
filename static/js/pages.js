// On a phone the whole index is seen and the parts of a sheet are folded; on a desk the other way.
"use strict";
const narrow = matchMedia("(max-width: 63.99rem)");
const groups = [...document.querySelectorAll(".pages-group")];
const here = groups.find((group) => group.open);

function unfold() {
  for (const group of groups) {
    if (narrow.matches) group.removeAttribute("name");
    else group.name = "pages";
    group.open = narrow.matches || group === here;
  }
  for (const part of document.querySelectorAll("details.fold:not(.workings)")) part.open ||= !narrow.matches;
}

narrow.addEventListener("change", unfold);
unfold();

// A link to a part that is folded unfolds it.
function unfoldTarget() {
  const part = document.getElementById(location.hash.slice(1))?.closest("details");
  if (part) part.open = true;
}
addEventListener("hashchange", unfoldTarget);
unfoldTarget();

// What a form comes to is of when it was asked for: it says so once something is typed since.
const preview = document.getElementById("understood");
if (preview) {
  const note = preview.parentElement.querySelector(".stale-note");
  const form = preview.closest("form");
  // Where it is worked out anew while one types, only if that takes long.
  const patience = form.hasAttribute("hx-post") ? 3000 : 0;
  let timer;
  const mark = (stale) => {
    clearTimeout(timer);
    preview.classList.toggle("stale", stale);
    note.textContent = stale ? note.dataset.said : "";
  };
  form.addEventListener("input", () => {
    clearTimeout(timer);
    if (preview.querySelector("dl, table")) timer = setTimeout(mark, patience, true);
  });
  document.addEventListener("htmx:afterSwap", () => mark(false));
}
