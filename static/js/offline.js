// Without a connection a form stays as it is, with a sentence, instead of giving way to the
// browser's own page of an error.
"use strict";
const unsent = "No connection. Nothing was sent. What you typed is still here.";
const outdated = "No connection, so this is out of date. What you typed is still here.";

function say(form) {
  let told = form.querySelector("[data-unsent]");
  if (!told) {
    told = document.createElement("p");
    told.className = "caution";
    told.dataset.unsent = "";
    told.tabIndex = -1;
    told.setAttribute("role", "alert");
    (form.querySelector(".finish") || form).before(told);
  }
  told.textContent = unsent;
  told.scrollIntoView({ block: "center" });
  told.focus({ preventScroll: true });
}

document.addEventListener("submit", (event) => {
  if (!event.defaultPrevented && !navigator.onLine && event.target.method === "post") {
    event.preventDefault();
    say(event.target);
  }
});

addEventListener("online", () => {
  for (const told of document.querySelectorAll("[data-unsent]")) {
    told.textContent = "The connection is back. Send it again.";
  }
});

document.addEventListener("htmx:sendError", () => {
  for (const id of ["understood", "verdict"]) {
    const part = document.getElementById(id);
    if (part) part.textContent = outdated;
  }
});
