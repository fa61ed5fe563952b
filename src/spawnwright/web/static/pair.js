// The code that came with the address goes into its box, and out of the address.
const box = document.querySelector("#f-code");

function take() {
  const code = location.hash.slice(1);
  if (!box || !/^[0-9A-Za-z]{8}$/.test(code)) return;
  box.value = code;
  history.replaceState(null, "", location.pathname);
  document.querySelector("#f-name")?.focus();
}

addEventListener("hashchange", take);
take();
