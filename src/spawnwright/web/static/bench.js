// Comfort for pages that work without it: forms that wait for the computer, the device's time, no
// form sent twice by a second tap, the focus where something went wrong.
import { deviceTime, drain, entries, keep, letGo, newStep, onChange, send } from "./outbox.js";
import { element } from "./waiting.js";

const SHOWN_AFTER = 700;
const LONGEST = 8_000;
const LARGE = 1_000_000;
const WIDEST = 2_400;
const LARGEST = 19_000_000;

function named(form, name) {
  return form.querySelector(`[name="${name}"]`);
}

function said(form, kind, role, text) {
  form.querySelector(":scope > .about")?.remove();
  const made = element("div", { class: `said about ${kind}`, role, tabindex: "-1" }, element("p", {}, text));
  form.prepend(made);
  if (role === "alert") {
    made.focus();
    made.scrollIntoView({ block: "center" });
  }
}

function busy(form, submitter, text) {
  form.dataset.busy = "";
  form.querySelector(":scope > .about")?.remove();
  // After this turn, so that the button that was tapped is still sent with the form.
  setTimeout(() => form.querySelectorAll("button").forEach((each) => { each.disabled = true; }));
  return setTimeout(() => {
    const spot = submitter ?? form.lastElementChild;
    spot.after(element("span", { class: "soft working", role: "status" }, ` ${text}`));
  }, SHOWN_AFTER);
}

function free(form, timer) {
  clearTimeout(timer);
  delete form.dataset.busy;
  form.querySelectorAll("button").forEach((each) => { each.disabled = false; });
  form.querySelectorAll(".working").forEach((each) => each.remove());
}

// A photo as large as is looked at; also, what a phone writes into it about the place goes.
async function smaller(file) {
  if (!file.type.startsWith("image/") || file.size < LARGE) return file;
  try {
    const drawn = await createImageBitmap(file);
    const scale = Math.min(1, WIDEST / Math.max(drawn.width, drawn.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(drawn.width * scale);
    canvas.height = Math.round(drawn.height * scale);
    canvas.getContext("2d").drawImage(drawn, 0, 0, canvas.width, canvas.height);
    const content = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.85));
    return content && content.size < file.size ? content : file;
  } catch {
    return file;  // a kind that this browser cannot draw; the computer may
  }
}

async function entryOf(form, submitter) {
  const step = newStep();
  const fields = [];
  const files = [];
  for (const [name, value] of new FormData(form, submitter)) {
    if (value instanceof File) {
      if (value.name) files.push({ field: name, name: value.name, content: await smaller(value) });
    } else if (name === "step") fields.push([name, step]);
    else if (name === "at_device") fields.push([name, deviceTime()]);
    else fields.push([name, value]);
  }
  const code = fields.find(([name, value]) => name === "code" && value)?.[1];
  const title = form.dataset.said || form.dataset.keep || document.querySelector("h1")?.textContent.trim() || document.title;
  const action = submitter?.getAttribute("formaction") ?? form.getAttribute("action");
  const address = new URL(action || location.href, location.href);
  return {
    step, fields, files, address: address.pathname + address.search,
    title: code && !title.includes(code) ? `${title}: ${code}` : title,
    madeAt: deviceTime(), page: location.pathname + location.search,
  };
}

function goOn(next, step) {
  const there = new URL(next, location.href);
  if (step) there.searchParams.set("kept", step);
  location.assign(there.pathname + there.search + there.hash);
}

async function kept(entry, form) {
  if (entry.files.reduce((sum, each) => sum + each.content.size, 0) > LARGEST) {
    return { how: "refused", problem: "The photos are larger than 20 MB together; take smaller or fewer ones." };
  }
  try {
    const waited = new Promise((resolve) => setTimeout(() => resolve({ how: "waits" }), LONGEST));
    return await Promise.race([keep(entry, Number(form.dataset.replaces) || null), waited]);
  } catch {
    // A browser that keeps nothing, or a full disk: straight to the computer, or not at all.
    const outcome = await send(entry);
    if (outcome.how !== "waits") return outcome;
    return { how: "refused", problem: "Spawnwright does not answer, and this browser cannot keep the entry. Leave the page open and try again." };
  }
}

async function sent(form, submitter) {
  const timer = busy(form, submitter, "Sending…");
  const entry = await entryOf(form, submitter);
  const outcome = await kept(entry, form);
  if (outcome.how === "kept") {
    goOn(outcome.next, outcome.kept);
    return;
  }
  free(form, timer);
  letGo(entry.step);
  if (outcome.how === "refused") {
    said(form, "harm", "alert", `Not kept. ${outcome.problem}`);
    return;
  }
  const isStill = (await entries()).some((each) => each.step === entry.step);
  if (!isStill) {
    goOn(location.pathname, entry.step);  // another tab has sent it
    return;
  }
  delete form.dataset.replaces;
  form.reset();
  form.dataset.waiting = entry.step;
  said(form, "well", "status", "Kept on this device. It goes to the computer by itself; you can go on.");
  form.dispatchEvent(new CustomEvent("bench:waits", { bubbles: true, detail: entry }));
  form.querySelector("input:not([type=hidden], [type=radio], [type=checkbox], [type=file])")?.focus();
}

// An entry that waited and is gone was sent: that is said where it was said that it waits. Of one
// that was refused the bar at the top tells.
onChange(async () => {
  const form = document.querySelector("form[data-waiting]");
  if (!form) return;
  const entry = (await entries()).find((each) => each.step === form.dataset.waiting);
  if (entry?.state === "waits") return;
  delete form.dataset.waiting;
  if (entry) form.querySelector(":scope > .about.well")?.remove();
  else said(form, "well", "status", "Sent: the computer has it now.");
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented) return;
  if ("busy" in form.dataset) {
    event.preventDefault();
    return;
  }
  const isSent = (form.getAttribute("method") ?? "").toLowerCase() === "post";
  if (isSent && "keep" in form.dataset) {
    event.preventDefault();
    sent(form, event.submitter);
    return;
  }
  const told = named(form, "at_device");
  if (told) told.value = deviceTime();
  busy(form, event.submitter, "Working it out…");
});

// A page that comes back from the browser's memory is free again.
addEventListener("pageshow", (event) => {
  if (event.persisted) document.querySelectorAll("form[data-busy]").forEach((each) => free(each));
});

function fill(form, entry) {
  const seen = new Map();
  for (const control of form.elements) {
    const values = entry.fields.filter(([name]) => name === control.name).map(([, value]) => value);
    if (!control.name || control.type === "hidden" || control.type === "submit") continue;
    if (control.type === "radio" || control.type === "checkbox") control.checked = values.includes(control.value);
    else if (control.type === "file") {
      const back = new DataTransfer();
      for (const each of entry.files.filter((file) => file.field === control.name)) {
        back.items.add(new File([each.content], each.name, { type: each.content.type }));
      }
      control.files = back.files;
    } else {
      const place = seen.get(control.name) ?? 0;
      seen.set(control.name, place + 1);
      control.value = values[place] ?? "";
    }
  }
}

// An entry that was refused, back in its form to be put right.
async function putRight() {
  const number = Number(sessionStorage.getItem("bench-edit"));
  sessionStorage.removeItem("bench-edit");
  if (!number) return;
  const entry = (await entries()).find((each) => each.number === number);
  const form = [...document.querySelectorAll("form[data-keep]")].find(
    (each) => new URL(each.getAttribute("action") || location.href, location.href).pathname
      === new URL(entry?.address ?? "", location.href).pathname,
  );
  if (!entry || !form) return;
  fill(form, entry);
  form.dataset.replaces = String(number);
  said(form, "harm", "alert", `Not kept. ${entry.problem}`);
}

const problem = document.querySelector("main [role=alert]");
if (problem) {
  problem.tabIndex = -1;
  problem.focus();
}
if (isSecureContext && "serviceWorker" in navigator) {
  // Refused where the certificate was only clicked through; then the page must stay open.
  navigator.serviceWorker.register("/sw.js").catch((reason) => console.info(reason.message));
}
putRight().then(drain, drain);
