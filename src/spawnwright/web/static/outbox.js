// Entries that are not on the computer yet: kept on this device, sent in order, each arriving once.
//
// An entry is kept before it is sent, so that a closed tab or a lost answer loses nothing. It
// carries the id of the step that it becomes; the computer keeps a step once, however often it
// comes. All of this works by plain http too, where crypto.randomUUID and navigator.locks do not.

const TRIES = 3;
const MARK = "bench-send", TURN_LASTS = 30_000;
const listeners = new Set();
const asked = new Map();
const channel = "BroadcastChannel" in window ? new BroadcastChannel("bench") : null;
export const state = { isAway: false, isUnpaired: false };

export function newStep() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (each) => each.toString(16).padStart(2, "0")).join("");
}

// The device's own time with its offset from UTC: 2026-11-25T09:30:00+01:00.
export function deviceTime(now = new Date()) {
  const offset = -now.getTimezoneOffset();
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const local = new Date(now.getTime() + offset * 60_000).toISOString().slice(0, 19);
  return `${local}${offset < 0 ? "-" : "+"}${two(offset / 60)}:${two(offset % 60)}`;
}

export function onChange(listener) {
  listeners.add(listener);
}

function changed() {
  channel?.postMessage("changed");
  listeners.forEach((each) => each());
}

if (channel) channel.onmessage = () => listeners.forEach((each) => each());

let opened;
function database() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open("bench", 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("waiting", { keyPath: "number", autoIncrement: true });
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error("another tab holds the entries"));
  });
  return opened;
}

async function inStore(name, mode, work) {
  const open = await database();
  return new Promise((resolve, reject) => {
    const transaction = open.transaction(name, mode, { durability: "strict" });
    let result;
    work(transaction.objectStore(name), (value) => { result = value; });
    transaction.oncomplete = () => resolve(result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

// All entries, oldest first.
export function entries() {
  return inStore("waiting", "readonly", (store, give) => {
    store.getAll().onsuccess = (event) => give(event.target.result);
  });
}

export async function remove(number) {
  await inStore("waiting", "readwrite", (store) => store.delete(number));
  changed();
}

async function change(entry) {
  await inStore("waiting", "readwrite", (store) => store.put(entry));
  changed();
}

export async function sendAgain(entry) {
  await change({ ...entry, state: "waits", problem: "", tries: 0 });
  await drain();
}

// Keep an entry, in the place of the one that it corrects; gives what becomes of it.
export async function keep(entry, replaces) {
  const asker = { isKept: false };
  const outcome = new Promise((resolve) => { asker.resolve = resolve; });
  asked.set(entry.step, asker);
  try {
    await inStore("waiting", "readwrite", (store) => {
      if (replaces) store.delete(replaces);
      store.add({ ...entry, state: "waits", problem: "", tries: 0 });
    });
  } catch (problem) {
    asked.delete(entry.step);
    throw problem;
  }
  asker.isKept = true;
  changed();
  // iOS may clear what a page keeps, unless it was asked not to.
  navigator.storage?.persist?.();
  drain();
  return outcome;
}

function answer(step, outcome) {
  if (!asked.has(step)) return;
  asked.get(step).resolve(outcome);
  asked.delete(step);
  changed();
}

// The form does not wait any longer; the entry does.
export function letGo(step) {
  answer(step, { how: "waits" });
}

// Whether a form that is still open waits for what becomes of its entry.
export function isOnItsWay(step) {
  return asked.has(step);
}

let running = null;
let again = false;
// Send what waits, one after the other, until one has to wait on.
export async function drain() {
  again = true;
  running ??= (async () => {
    try {
      while (again) {
        again = false;
        await inTurn(sendAll);
      }
    } finally {
      running = null;
      // What another tab has sent meanwhile is gone from here; what is still here waits.
      for (const [step, asker] of [...asked]) if (asker.isKept) answer(step, { how: "waits" });
    }
  })();
  return running;
}

async function sendAll(renew) {
  for (;;) {
    const entry = (await entries()).find((each) => each.state === "waits");
    if (!entry) return;
    renew();
    const outcome = await send(entry);
    const was = { ...state };
    state.isAway = outcome.how === "waits" && outcome.why !== "unpaired";
    state.isUnpaired = outcome.how === "waits" && outcome.why === "unpaired";
    if (outcome.how === "kept") {
      await remove(entry.number);
    } else if (outcome.how === "refused") {
      const isAsked = asked.has(entry.step) && outcome.status === 422;
      // A form that is still open shows the problem itself and holds what was typed.
      if (isAsked) await remove(entry.number);
      else await change({ ...entry, state: "refused", problem: outcome.problem });
    } else {
      if (outcome.why === "mistake") await change({ ...entry, tries: entry.tries + 1 });
      if (was.isAway !== state.isAway || was.isUnpaired !== state.isUnpaired) changed();
      return;
    }
    answer(entry.step, outcome);
  }
}

function bodyOf(entry) {
  const body = entry.files.length ? new FormData() : new URLSearchParams();
  for (const [name, value] of entry.fields) body.append(name, value);
  for (const { field, name, content } of entry.files) body.append(field, content, name);
  return body;
}

export async function send(entry) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), entry.files.length ? 90_000 : 20_000);
  try {
    const reply = await fetch(entry.address, {
      method: "POST", body: bodyOf(entry), redirect: "manual", cache: "no-store",
      credentials: "same-origin", signal: stop.signal,
      // What this clock says now: by what it is wrong, so is the time of the entry.
      headers: { "X-Outbox": "1", "X-Sent-At": deviceTime(), Accept: "application/json" },
    });
    return outcomeOf(reply, await reply.json().catch(() => null), entry);
  } catch {
    return { how: "waits", why: "away" };
  } finally {
    clearTimeout(timer);
  }
}

function outcomeOf(reply, told, entry) {
  const problem = told?.problem ?? `The computer did not take it (${reply.status}).`;
  if (reply.ok && told && "kept" in told) return { how: "kept", ...told };
  if (reply.status === 401) return { how: "waits", why: "unpaired" };
  if (reply.status >= 500 && told?.problem) {
    // A mistake of the program may be over soon; if not, it must not hold up all others.
    if (entry.tries + 1 < TRIES) return { how: "waits", why: "mistake" };
    return { how: "refused", status: reply.status, problem };
  }
  const isLater = [408, 425, 429].includes(reply.status) || reply.status >= 500;
  // Neither is a redirect or another page's "all right" ours: that is a Wi-Fi asking to log in.
  if (isLater || reply.status < 400) return { how: "waits", why: "away" };
  return { how: "refused", status: reply.status, problem };
}

// One tab sends at a time. Sending twice would do no harm, but it would cost the phone's battery:
// so, where locks do not work, a mark that two tabs might set at once is good enough. It goes with
// the page that set it (a page is often left while it sends), and at last when it is old.
async function inTurn(work) {
  if (navigator.locks) return navigator.locks.request("bench-send", () => work(() => {}));
  const renew = () => localStorage.setItem(MARK, JSON.stringify({ by: HERE, at: Date.now() }));
  for (let tries = 0; isOthersTurn(); tries += 1) {
    if (tries === 20) return undefined;
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
  renew();
  try {
    return await work(renew);
  } finally {
    endTurn();
  }
}

const HERE = newStep();
addEventListener("pagehide", endTurn);

function turn() {
  return JSON.parse(localStorage.getItem(MARK) ?? "null");
}

function isOthersTurn() {
  const held = turn();
  return held !== null && held.by !== HERE && Math.abs(held.at - Date.now()) < TURN_LASTS;
}

function endTurn() {
  if (turn()?.by === HERE) localStorage.removeItem(MARK);
}

// What is not sent yet, as a file that `import` takes.
export async function asFile(device) {
  const kept = await entries();
  const written = await Promise.all(kept.map(async (each) => ({
    step: each.step, address: each.address, title: each.title, made_at: each.madeAt,
    fields: each.fields,
    files: await Promise.all(each.files.map(async ({ field, name, content }) => ({
      field, name, kind: content.type, base64: await inBase64(content),
    }))),
  })));
  return JSON.stringify({
    format: "spawnwright unsent entries", version: 1, saved_at: deviceTime(),
    from: location.origin, device, entries: written,
  }, null, 1);
}

function inBase64(content) {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result.split(",", 2)[1] ?? "");
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(content);
  });
}

// A network that has just come back often carries nothing for another moment.
addEventListener("online", () => [0, 1_000, 4_000].forEach((wait) => setTimeout(drain, wait)));
document.addEventListener("visibilitychange", () => { if (!document.hidden) drain(); });
setInterval(drain, 15_000);
