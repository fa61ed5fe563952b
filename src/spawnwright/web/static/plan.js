// While a plan is worked out: says so, and keeps the button from being pressed again.
for (const form of document.querySelectorAll("form[data-working]")) {
  const button = form.querySelector("button:not([type=button])");
  const said = form.querySelector("[role=status]");
  form.addEventListener("submit", () => {
    said.textContent = form.dataset.working;
    form.setAttribute("aria-busy", "true");
    // Only after the form was taken: a disabled button would not send it.
    setTimeout(() => { button.disabled = true; }, 0);
  });
  // Back from the plan: the page may come from the browser's memory as it was left.
  addEventListener("pageshow", () => {
    button.disabled = false;
    said.textContent = "";
    form.removeAttribute("aria-busy");
  });
}
