/* Counts a block's code while it is typed, and says when it is one short. The register counts again when it is sent. */
"use strict";

const countsCode = (field) => {
  const length = Number(field.dataset.codeLength);
  const leftOut = field.dataset.leftOut;
  const told = document.createElement("output");
  told.className = "small";
  told.htmlFor = field.id;
  field.after(told);
  const tells = () => {
    const count = [...field.value.trim()].filter((letter) => !leftOut.includes(letter)).length;
    const short = count === length - 1 ? `, ${field.dataset.oneShort}` : count > length ? ", too many" : "";
    told.textContent = count ? `${count} of ${length} characters${short}.` : "";
  };
  field.addEventListener("input", tells);
  tells();
};

const countsCodes = () => document.querySelectorAll("[data-code-length]").forEach(countsCode);
countsCodes();
document.addEventListener("drawn", countsCodes);
