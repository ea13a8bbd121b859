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
