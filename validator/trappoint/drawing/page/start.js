/* Start each diagram of the page; `working` of its element is what the rest of the page may call. */
"use strict";

document.querySelectorAll("[data-working]").forEach((root) => {
  root.working = trappointPage(root, JSON.parse(root.querySelector("[data-work-data]").textContent));
});
