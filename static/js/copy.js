// A button that copies a link, where the browser can; without it the link is copied by hand.
"use strict";
for (const row of document.querySelectorAll("[data-copy-from]")) {
  const field = document.getElementById(row.dataset.copyFrom);
  const told = row.querySelector("[data-copied]");
  const share = row.querySelector("[data-share]");
  row.hidden = false;
  field.addEventListener("focus", () => field.select());
  field.select();
  row.querySelector("[data-copy]").addEventListener("click", async () => {
    field.focus();
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
      told.textContent = "Copied.";
    } catch {
      told.textContent = "It is selected. Copy it with your keyboard.";
    }
  });
  if (navigator.share) {
    share.hidden = false;
    share.addEventListener("click", () => {
      navigator.share({ url: field.value }).catch(() => {});
    });
  }
}
