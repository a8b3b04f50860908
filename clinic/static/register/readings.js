/* Says at once what the server will say about a reading. Without it the server says so after sending. */
"use strict";

const outOfLimits = (field) => {
  const limit = (name) => (field.dataset[name] === undefined ? null : Number(field.dataset[name]));
  if (field.type === "radio") return field.checked && !field.dataset.good.split("|").includes(field.value) ? `${field.value}.` : "";
  const typed = field.value.trim();
  if (!typed) return "";
  const number = Number(typed);
  if (!Number.isFinite(number)) return ""; // a slip, or a count such as ≥ 300: no limit is passed until the register has read it
  const [low, high, below, total] = ["low", "high", "below", "total"].map(limit);
  if (low !== null && number < low) return `${typed} is under ${low}.`;
  if (high !== null && number > high) return `${typed} is over ${high}.`;
  if (below !== null && number >= below) return `${typed} is not below ${below}.`;
  if (total !== null && number !== total) return `${typed} of ${total}.`;
  return "";
};

const placeFor = (field) => {
  const box = field.closest(".field");
  let place = box.querySelector("[data-says]");
  if (!place) {
    place = document.createElement("p");
    place.className = "error";
    place.dataset.says = "";
    place.setAttribute("role", "status");
    box.append(place);
  }
  return place;
};

document.addEventListener("input", ({ target: field }) => {
  if (field.dataset.what === undefined) return;
  const says = outOfLimits(field);
  const worse = field.dataset.worse !== undefined && Number(field.value) >= Number(field.dataset.worse);
  placeFor(field).textContent = says ? `Out of limits: ${says} ${worse ? field.dataset.then : field.dataset.what}` : "";
});
