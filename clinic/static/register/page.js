/* What a page may do better with a script. Everything works without it. */
"use strict";

/* A form sent twice would be refused or answered twice; the second press is ignored while the first is on its way. */
const sendsOnce = (event) => {
  if ("again" in event.target.dataset) return; // a paper that opens beside the page may be printed twice
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

/* A field for six digits or a password begins with the keys for digits, and a button brings the letters. */
const beginsWithDigits = (field) => {
  const button = Object.assign(document.createElement("button"), { type: "button", className: "button is-quiet", textContent: "Letters" });
  const turns = (letters) => {
    field.inputMode = letters ? "text" : "numeric";
    button.textContent = letters ? "Digits" : "Letters";
  };
  button.dataset.plain = "";
  button.addEventListener("click", () => {
    turns(field.inputMode === "numeric");
    field.focus();
  });
  field.after(button);
  turns(false);
};

/* A wide table says how many of its columns stand beyond its frame. */
const countsColumns = (frame) => {
  const says = frame.previousElementSibling;
  if (!says?.matches("[data-out-of-sight]")) return;
  const edge = frame.getBoundingClientRect().right;
  const beyond = [...frame.querySelectorAll("thead th")].filter((head) => head.getBoundingClientRect().right > edge + 1).length;
  says.hidden = beyond === 0;
  says.firstElementChild.textContent = beyond === 1 ? "1 column is" : `${beyond} columns are`;
};

const watchesColumns = (frame) => {
  const counts = () => countsColumns(frame);
  frame.addEventListener("scroll", counts, { passive: true });
  window.addEventListener("resize", counts);
  counts();
};

const prints = (button) => {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
};

/* Everything that is folded in the form, at one tap. */
const opensAll = (button) => {
  button.hidden = false;
  button.addEventListener("click", () => button.form.querySelectorAll("details").forEach((each) => (each.open = true)));
};

/* What is drawn, by the register or from its answer to a form. */
const drawn = () => {
  document.querySelectorAll(".matrix-frame").forEach(watchesColumns);
  document.querySelectorAll("[data-digits]").forEach(beginsWithDigits);
  document.querySelectorAll("[data-prints]").forEach(prints);
  document.querySelectorAll("[data-opens-all]").forEach(opensAll);
};

window.addEventListener("beforeprint", unfolds);
window.addEventListener("afterprint", foldsAgain);
document.addEventListener("submit", sendsOnce);
window.addEventListener("pageshow", mayBeSentAgain);
document.addEventListener("DOMContentLoaded", showsErrors);
document.addEventListener("drawn", drawn);
document.addEventListener("drawn", showsErrors);
drawn();
