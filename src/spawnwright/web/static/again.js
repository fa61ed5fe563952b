// Shows a page again while something is being worked out: three times at most, and never while
// somebody is filling in a form.
const mark = `again ${location.pathname}${location.search}`;
const times = Number(sessionStorage.getItem(mark) ?? 0);
let typing = false;
document.addEventListener("input", () => (typing = true));
if (document.querySelector("[data-again]") && times < 3) {
  setTimeout(() => {
    if (!typing) {
      sessionStorage.setItem(mark, String(times + 1));
      location.reload();
    }
  }, 1500 * (times + 1));
}
