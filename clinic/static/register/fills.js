// A site fact stands in its sentence while it is typed; an empty field shows the example.
document.addEventListener("input", ({ target: field }) => {
  const shown = field.dataset.fills && document.getElementById(field.dataset.fills);
  if (shown) shown.textContent = field.value.trim() || shown.dataset.example;
});
