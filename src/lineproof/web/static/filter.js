// Rows that do not hold every typed word are hidden as one types.

export function filters() {
  for (const field of document.querySelectorAll("input[data-filter]")) {
    const rows = document.getElementById(field.dataset.filter);
    const apply = () => filter(rows, field.value);
    field.addEventListener("input", apply);
    field.form?.addEventListener("submit", (event) => event.preventDefault());
    if (field.value) apply();
  }
}

function filter(rows, text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const found = new Set();
  for (const row of rows.querySelectorAll("[data-find]")) {
    const fits = words.every((word) => row.dataset.find.includes(word));
    row.hidden = !fits;
    if (fits) found.add(row);
  }
  for (const group of rows.querySelectorAll(".group, .switch")) {
    group.hidden = !group.querySelector("[data-find]:not([hidden])");
  }
  const told = document.getElementById("found");
  if (told) told.textContent = words.length ? `${found.size || "no"} found` : "";
}
