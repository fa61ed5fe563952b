// The code of a jar: alphabet and check character, as records/book/codes.py has them. A wrong code
// is noticed on the phone too, where nobody can be asked.

export const SIGNS = "23456789CDFHJKMNPRTVWXY";
const LOOKS_LIKE = { B: "8", G: "6", I: "J", L: "J", Q: "9", S: "5", U: "V", Z: "2" };
const SHORTEST = 4;
const LONGEST = 8;

/** The code in capitals, from a code or the address on a label. */
export function plain(typed) {
  const part = typed.trim().split("/j/").pop().replace(/^[/ ]+|[/ ]+$/g, "");
  return part.toUpperCase().replace(/[\s-]/g, "");
}

/** What is wrong with a code, in a sentence; empty if it can be one. */
export function faultOf(typed) {
  const code = plain(typed);
  if (code.length < SHORTEST || code.length > LONGEST) {
    return `A code has ${SHORTEST} signs or more; this has ${code.length}.`;
  }
  for (const sign of code) {
    if (!SIGNS.includes(sign)) {
      const like = LOOKS_LIKE[sign] ? `; perhaps it is ${LOOKS_LIKE[sign]}` : "";
      return `No code has ${sign}${like}.`;
    }
  }
  let sum = 0;
  for (let place = 1; place <= code.length; place += 1) {
    sum += SIGNS.indexOf(code[code.length - place]) * place;
  }
  return sum % SIGNS.length === 0
    ? ""
    : "One sign is wrong, or two are swapped. Read it again.";
}

function watch(box) {
  const fault = document.getElementById(`e-${box.id.replace("f-", "")}`);
  const link = document.getElementById("see-code");
  const many = box.tagName === "TEXTAREA";
  const check = (isDone) => {
    const codes = many ? box.value.split(/[\s,;]+/).filter(Boolean) : [box.value];
    const wrong = codes.map((each) => [each, each && faultOf(each)]).find((each) => each[1]);
    const short = !many && plain(box.value).length < SHORTEST;
    const said = wrong && (isDone || !short) ? (many ? `${wrong[0]}: ` : "") + wrong[1] : "";
    box.setCustomValidity(wrong ? said || wrong[1] : "");
    box.setAttribute("aria-invalid", said ? "true" : "false");
    if (fault) {
      fault.textContent = said;
      fault.hidden = !said;
    }
    if (link) {
      link.hidden = Boolean(wrong) || !box.value.trim();
      link.href = `/j/${plain(box.value)}/look`;
    }
  };
  box.addEventListener("input", () => check(false));
  box.addEventListener("change", () => check(true));
  box.form?.addEventListener("reset", () => setTimeout(() => check(false)));
  if (box.value) check(true);
}

if (typeof document !== "undefined") {
  document.querySelectorAll("[data-code]").forEach(watch);
}
