/* Beginning an observation: which ways and units fit what was chosen. */
"use strict";

/* For an assessment only the ways that count are offered; the others say why not. Units of another kind step back. */
const fitsChoices = (form, counts) => {
  const chosen = [...form.querySelectorAll("input[name=procedures]:checked")].map((box) => box.value);
  const assessment = form.querySelector("input[name=purpose][value=assessment]").checked;
  form.querySelectorAll("input[name=method]").forEach((dot) => {
    const against = assessment ? chosen.filter((pk) => !counts.methods[pk].includes(dot.value)) : [];
    offers(dot, against.map((pk) => counts.titles[pk]));
  });
  const kinds = chosen.map((pk) => counts.kinds[pk]);
  form.querySelectorAll("select[name=equipment] option").forEach((option) => {
    option.hidden = option.disabled = Boolean(option.value && kinds.length && !kinds.includes(counts.units[option.value]));
  });
  const unit = form.querySelector("select[name=equipment]"); // what concerns a whole site has no unit to choose
  const wholeSite = kinds.length > 0 && kinds.every((kind) => kind === "site");
  if (wholeSite) unit.value = "";
  unit.parentElement.hidden = wholeSite && unit.parentElement !== form;
};

const offers = (dot, against) => {
  const label = dot.labels[0];
  label.dataset.words ||= label.textContent;
  dot.disabled = against.length > 0;
  if (dot.disabled) dot.checked = false;
  label.textContent = label.dataset.words + (dot.disabled ? ` (does not count as an assessment of ${against.join(" or ")})` : "");
};

const begins = () => {
  const counts = document.getElementById("counts");
  if (!counts) return;
  const form = document.querySelector("form[method=post] input[type=checkbox][name=procedures]")?.form;
  const known = JSON.parse(counts.textContent);
  form?.addEventListener("change", () => fitsChoices(form, known));
  if (form) fitsChoices(form, known);
};

begins();
document.addEventListener("drawn", begins);
