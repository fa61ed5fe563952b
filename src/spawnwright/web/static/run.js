// A run that is under way: counts down to instants that the server gave, asks again now and then,
// sounds when something is due. Nothing here counts ticks, so a sleeping phone wakes up right.
const now = document.getElementById("now");
const lost = document.getElementById("no-connection");
const ASK_EVERY_S = 15;
let ahead = Number(localStorage.getItem("clock-ahead-ms") || 0); // server's clock less this one's
let asked = Date.now();
let answered = Date.now();
let sound = null;
let sounded = new Set();

function left(until) {
  const seconds = Math.max(0, Math.round((Date.parse(until) - Date.now() - ahead) / 1000));
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor((seconds % 3600) / 60);
  const rest = String(seconds % 60).padStart(2, "0");
  return [seconds, hours ? `${hours}:${String(minutes).padStart(2, "0")}:${rest} left` : `${minutes}:${rest} left`];
}

function draw() {
  for (const each of now.querySelectorAll("[data-until]")) {
    const [seconds, said] = left(each.dataset.until);
    each.textContent = seconds ? said : each.dataset.over;
    if (!seconds) ring(each.dataset.over);
  }
  for (const each of now.querySelectorAll("[data-due]")) ring(each.dataset.due);
}

function ring(what) {
  if (!sound || sounded.has(what)) return;
  sounded.add(what);
  for (let beep = 0; beep < 6; beep += 1) {
    const tone = sound.createOscillator();
    const loud = sound.createGain();
    const at = sound.currentTime + beep * 0.5;
    tone.frequency.value = 880;
    loud.gain.setValueAtTime(0.3, at);
    loud.gain.exponentialRampToValueAtTime(0.001, at + 0.35);
    tone.connect(loud).connect(sound.destination);
    tone.start(at);
    tone.stop(at + 0.4);
  }
}

async function ask() {
  asked = Date.now();
  try {
    const answer = await fetch(`/runs/${now.dataset.run}/now`, { cache: "no-store" });
    if (!answer.ok) throw new Error(String(answer.status));
    ahead = Date.parse(answer.headers.get("date")) - Date.now();
    localStorage.setItem("clock-ahead-ms", String(ahead));
    answered = Date.now();
    lost.hidden = true;
    if (answer.headers.get("x-events") !== now.dataset.events && !typing()) {
      location.replace(location.pathname);
      return;
    }
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const each of document.querySelectorAll("[data-part]")) {
      const other = fresh.querySelector(`[data-part="${each.dataset.part}"]`);
      if (other) each.replaceWith(other);
    }
    draw();
  } catch {
    const since = new Date(answered).toTimeString().slice(0, 5);
    lost.textContent = `No answer from the computer since ${since}. The clock here goes on by itself; what you tap waits on this phone.`;
    lost.hidden = false;
  }
}

function typing() {
  const where = document.activeElement;
  return where && ["INPUT", "TEXTAREA", "SELECT"].includes(where.tagName);
}

if (now.dataset.stage !== "opened") {
  setInterval(() => {
    draw();
    if (!document.hidden && Date.now() - asked > ASK_EVERY_S * 1000) ask();
  }, 1000);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) ask(); });
  draw();
}

const button = document.getElementById("sound");
if (button) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    sound = new AudioContext();
    ring("it will sound like this");
    button.textContent = "It will sound while this page is open";
    button.disabled = true;
    try { await navigator.wakeLock.request("screen"); } catch { /* only over https; the page says nothing it cannot keep */ }
  });
}

// The chart comes after the page, and only if there is one.
const place = document.getElementById("curve");
if (place) {
  const { drawCurve } = await import("./run-chart.js");
  drawCurve(place);
}
