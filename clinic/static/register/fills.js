// A site fact stands in its sentence while it is typed; an empty field shows the example.
for (const field of document.querySelectorAll("[data-fills]")) {
  const shown = document.getElementById(field.dataset.fills);
  field.addEventListener("input", () => { shown.textContent = field.value.trim() || shown.dataset.example; });
}
