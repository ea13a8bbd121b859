// On a phone the whole index is seen at once; on a desk one group of it, beside the page.
"use strict";
const narrow = matchMedia("(max-width: 63.99rem)");
const groups = [...document.querySelectorAll(".pages-group")];
const open = groups.find((group) => group.open);

function unfold() {
  for (const group of groups) {
    if (narrow.matches) group.removeAttribute("name");
    else group.name = "pages";
    group.open = narrow.matches || group === open;
  }
}

narrow.addEventListener("change", unfold);
unfold();
