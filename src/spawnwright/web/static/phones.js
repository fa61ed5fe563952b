// While a code is open: how long it still holds, and the new phone as soon as it is there.
const sheet = document.querySelector(".pairing");
const left = document.querySelector("#left");
if (sheet && left) {
  const end = Date.now() + 1000 * Number(left.textContent.match(/\d+/)?.[0] ?? 0);
  const timer = setInterval(async () => {
    const seconds = Math.max(0, Math.round((end - Date.now()) / 1000));
    // Spoken every half minute only.
    if (seconds % 30 === 0 || seconds < 10) left.textContent = `Holds for ${seconds} seconds, for one phone.`;
    try {
      const state = await (await fetch("/phones/state")).json();
      if (!state.is_open || state.phones !== Number(sheet.dataset.phones)) {
        clearInterval(timer);
        location.replace("/phones#paired");
        location.reload();
      }
    } catch { /* the computer does not answer for a moment; the next second asks again */ }
  }, 1000);
}
