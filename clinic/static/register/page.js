/* What a page may do better with a script. Everything works without it. */
"use strict";

const opensDialog = (event) => {
  const link = event.target.closest("[data-opens]");
  const dialog = link && document.getElementById(link.dataset.opens);
  if (!dialog || !dialog.showPopover) return;
  event.preventDefault();
  dialog.showPopover();
};

/* A form sent twice would be refused or answered twice; the second press is ignored while the first is on its way. */
const sendsOnce = (event) => {
  if (event.target.dataset.sent) event.preventDefault();
  else event.target.dataset.sent = "yes";
};

const mayBeSentAgain = () => document.querySelectorAll("form[data-sent]").forEach((form) => delete form.dataset.sent);

/* The first thing to hear after a refused form is what is wrong with it. */
const showsErrors = () => document.getElementById("form-errors")?.focus();

/* Paper has nothing to tap: what is folded is printed open. */
const unfolds = () => document.querySelectorAll("main details:not([open])").forEach((each) => {
  each.open = true;
  each.dataset.unfolded = "yes";
});

const foldsAgain = () => document.querySelectorAll("details[data-unfolded]").forEach((each) => {
  each.open = false;
  delete each.dataset.unfolded;
});

window.addEventListener("beforeprint", unfolds);
window.addEventListener("afterprint", foldsAgain);
document.addEventListener("click", opensDialog);
document.addEventListener("submit", sendsOnce);
window.addEventListener("pageshow", mayBeSentAgain);
document.addEventListener("DOMContentLoaded", showsErrors);
document.querySelectorAll("[data-prints]").forEach((button) => {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
});
