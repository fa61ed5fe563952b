// The bar that says what waits on this device, on every page, and lets it be sent, saved, put right.
import { asFile, drain, entries, isOnItsWay, onChange, remove, sendAgain, state } from "./outbox.js";

const bar = document.querySelector("#waiting");
const here = bar.dataset.device === "this computer" ? "computer" : "phone";
const summary = element("p", { role: "status" });
const list = element("div", {});
let isOpen = false;

export function element(name, attributes, ...content) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "onclick") made.addEventListener("click", value);
    else made.setAttribute(key, value);
  }
  made.append(...content);
  return made;
}

function button(text, onclick, kind = "second") {
  return element("button", { type: "button", class: kind, onclick }, text);
}

function counted(many) {
  return many === 1 ? `1 entry waits on this ${here}` : `${many} entries wait on this ${here}`;
}

function sentence(waiting, refused) {
  const said = [];
  if (waiting) said.push(`${counted(waiting)}.`);
  if (refused) said.push(`${refused === 1 ? "1 entry was" : `${refused} entries were`} refused.`);
  if (state.isUnpaired) said.push("This phone is not paired any more; pair it again, and they are sent.");
  else if (waiting && state.isAway) said.push(`Spawnwright does not answer; ${waiting === 1 ? "it is" : "they are"} sent when it does.`);
  const isOffline = state.isAway || !navigator.onLine;
  if (!waiting && !refused && !navigator.onLine) said.push(`No network. What you enter now waits on this ${here}.`);
  if (isOffline && !isSecureContext) said.push("Keep this page open: it cannot be opened again before Spawnwright answers.");
  const drawn = document.documentElement.dataset.keptAt;
  if (drawn) said.push(`This page is as it was on ${new Date(drawn).toLocaleString()}.`);
  return said.join(" ");
}

async function save() {
  const text = await asFile(bar.dataset.device);
  const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  const day = new Date().toISOString().slice(0, 16).replace(/[:T]/g, "-");
  const link = element("a", { href: address, download: `bench-${day}.unsent.json` });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

function row(entry) {
  const at = new Date(entry.madeAt).toLocaleString();
  const said = element("span", { class: "grow" }, element("strong", {}, entry.title),
    element("br", {}), element("span", { class: "soft small" }, at));
  const made = element("li", { class: "line between" }, said);
  if (entry.state !== "refused") return made;
  said.append(element("br", {}), `Refused: ${entry.problem}`);
  made.append(element("span", { class: "line" },
    button("Put right", () => {
      sessionStorage.setItem("bench-edit", String(entry.number));
      location.assign(entry.page);
    }),
    button("Send again", () => sendAgain(entry)),
    button("Discard", () => {
      if (confirm(`Discard “${entry.title}”? It is in no other place.`)) remove(entry.number);
    })));
  return made;
}

let drawings = 0;
export async function draw() {
  drawings += 1;
  const mine = drawings;
  let kept = [];
  try {
    kept = (await entries()).filter((each) => !isOnItsWay(each.step));
  } catch { /* a browser that keeps nothing; the form says so when it matters */ }
  if (mine !== drawings) return;  // a later drawing knows better
  const refused = kept.filter((each) => each.state === "refused").length;
  const said = sentence(kept.length - refused, refused);
  bar.hidden = !said;
  if (summary.textContent !== said) summary.textContent = said;
  const hadFocus = list.contains(document.activeElement);
  list.replaceChildren();
  if (!kept.length) return;
  const tools = element("div", { class: "line" });
  const shown = button(isOpen ? "Hide them" : "Show them", () => { isOpen = !isOpen; draw(); });
  shown.setAttribute("aria-expanded", String(isOpen));
  tools.append(shown);
  if (state.isUnpaired) tools.append(element("a", { class: "button", href: "/pair" }, "Pair again"));
  if (isOpen && kept.length > refused) tools.append(button("Send now", () => drain()));
  if (isOpen) tools.append(button("Save to a file", save));
  list.append(tools);
  if (isOpen) list.append(element("ul", { class: "rows" }, ...kept.map(row)));
  if (hadFocus) shown.focus();
}

bar.append(summary, list);
onChange(draw);
addEventListener("online", draw);
addEventListener("offline", draw);
draw();
