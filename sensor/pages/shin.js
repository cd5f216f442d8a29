// A phone on the leg: sends what its motion sensors say, and stays out of the way.

import { Link, at, fill, keepScreenOn, show, voice } from "./link.js";

const WORDS = {
  title: "Leg sensor",
  place: "Lay the phone on the front of the shin, half-way down: screen outwards, top edge to the knee.",
  strap: "Strap it below the middle. Keep the strap off the side buttons and off broken or numb skin.",
  quiet: "No calls: airplane mode on, then Wi-Fi on again. Low-power mode off.",
  care: "It measures; it does not diagnose. Stop at pain, tingling or numbness below the knee.",
  start: "Start",
  persecond: "readings a second",
  lock: "Lock the screen",
  unlock: "Locked. Hold two seconds to unlock",
  connecting: "Connecting …",
  connected: "Connected",
  gone: "Connection lost, trying again",
  slow: "Connected, but slow",
  stop: "STOP: lower the leg",
  end: "Done. You may take the phone off",
  screenOn: "The screen stays on",
  screenOff: "The screen may switch off: set auto-lock to five minutes or more",
  hidden: (count) => `This page was hidden ${count} times; nothing was measured then`,
  refused: "This code was used, or is too old",
  refusedMend: "Ask for a new code on the computer and scan it.",
  noCode: "This page needs a code",
  noCodeMend: "Scan the square on the computer's screen.",
  denied: "The phone's motion is not allowed",
  deniedMend: "Close the browser fully, scan a new code, and choose Allow.",
  nothing: "This phone gives no motion",
  nothingMend: "Allow motion sensors in the browser's settings for this page, or take another phone.",
};

const KEPT_MAX = 600; // readings: ten seconds
const SEND_MS = 30;
const MESSAGE_MAX = 100;
const HELD_BYTES_MAX = 65536;
const SLOW_HZ = 40;
const HOLD_MS = 2000;
const ORIENTATION_MS = 100;
const UP_MS = 10000; // told so long after each welcome
const NOTHING_MS = 3000;

fill(WORDS);

const kept = []; // readings that the computer may not have
let first = 0; // number of the first of them
let next = 0; // number of the next one to be sent
let sentAt = 0;
let count = 0; // readings in this second
let hides = 0;
let isIn = false;
let isRunning = false;
let signal = () => {};

const link = new Link("shin", {
  welcome(name) {
    isIn = true;
    welcomedAt = performance.now();
    next = first; // what came is known by its number
    at("name").textContent = name;
    at("covername").textContent = name;
    say(WORDS.connected);
  },
  gone() {
    isIn = false;
    say(WORDS.gone);
  },
  refused() {
    trouble(WORDS.refused, WORDS.refusedMend);
  },
  taken(number) {
    const known = Math.max(0, Math.min(number - first, kept.length));
    kept.splice(0, known);
    first += known;
    next = Math.max(next, first);
  },
  cue(word) {
    signal(true);
    say(word === "stop" ? WORDS.stop : WORDS.end);
    if (word === "end") isRunning = false;
  },
});

function say(text) {
  at("state").textContent = text;
  at("coverstate").textContent = text;
}

function trouble(what, mend) {
  isRunning = false;
  at("cover").hidden = true;
  show("trouble");
  at("what").textContent = what;
  at("mend").textContent = mend;
}

const short = (value, digits) => (Number.isFinite(value) ? Number(value.toFixed(digits)) : null);

function moved(event) {
  const a = event.accelerationIncludingGravity ?? {};
  const r = event.rotationRate ?? {};
  const row = [event.timeStamp, a.x, a.y, a.z, r.alpha, r.beta, r.gamma];
  kept.push(row.map((value, place) => short(value, place === 0 ? 3 : 5)));
  count += 1;
  if (kept.length > KEPT_MAX) {
    kept.shift();
    first += 1;
    next = Math.max(next, first);
  }
  send();
}

function send() {
  const now = performance.now();
  if (!isIn || now - sentAt < SEND_MS || link.held > HELD_BYTES_MAX) return;
  tellUp(now);
  while (next < first + kept.length) {
    const rows = kept.slice(next - first, next - first + MESSAGE_MAX);
    if (!link.send({ s: next, h: hides, d: rows })) return;
    next += rows.length;
    sentAt = now;
    if (rows.length < MESSAGE_MAX) break;
  }
}

// Which way is up, for the sign of the acceleration. A browser tells it only when it changes, so the last stands.
let up = null;
let toldAt = 0;
let welcomedAt = 0;
function turned(event) {
  if (Number.isFinite(event.beta) && Number.isFinite(event.gamma)) up = [event.beta, event.gamma];
}

function tellUp(now) {
  if (!up || now - toldAt < ORIENTATION_MS || now - welcomedAt > UP_MS) return;
  toldAt = now;
  link.send({ u: [up] });
}

/// Some browsers ask, some don't; both questions must come within the tap.
async function permit() {
  const kinds = [globalThis.DeviceMotionEvent, globalThis.DeviceOrientationEvent];
  const asked = kinds.map((kind) => kind?.requestPermission?.().catch(() => "denied"));
  const [motion] = await Promise.all(asked);
  return motion === undefined || motion === "granted";
}

at("go").addEventListener("click", async () => {
  signal = voice();
  if (!(await permit())) return trouble(WORDS.denied, WORDS.deniedMend);
  isRunning = true;
  show("running");
  say(WORDS.connecting);
  at("name").textContent = "";
  addEventListener("devicemotion", moved);
  addEventListener("deviceorientation", turned);
  keepScreenOn((isOn) => {
    at("screen").textContent = isOn ? WORDS.screenOn : WORDS.screenOff;
  });
  link.connect();
  setInterval(every, 1000);
  setTimeout(() => {
    if (first + kept.length < 3) trouble(WORDS.nothing, WORDS.nothingMend);
  }, NOTHING_MS);
  cover();
});

function every() {
  at("rate").textContent = String(count);
  at("coverrate").textContent = String(count);
  if (isIn && isRunning) {
    const words = count < SLOW_HZ ? WORDS.slow : WORDS.connected;
    if ([WORDS.connected, WORDS.slow].includes(at("state").textContent) && at("state").textContent !== words) say(words);
  }
  count = 0;
}

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" || !isRunning) return;
  hides += 1;
  at("hides").hidden = false;
  at("hides").textContent = WORDS.hidden(hides);
});

addEventListener("beforeunload", (event) => {
  if (isRunning) event.preventDefault();
});

// The cover takes all touches: a strap and a sleeve press too.
function cover() {
  at("cover").hidden = false;
  at("unlock").focus();
}

let holding = null;
function hold(event) {
  if (event.type === "keydown" && ![" ", "Enter"].includes(event.key)) return;
  event.preventDefault();
  if (holding) return;
  at("unlock").classList.add("held");
  holding = setTimeout(() => {
    release();
    at("cover").hidden = true;
    at("lock").focus();
  }, HOLD_MS);
}

function release() {
  clearTimeout(holding);
  holding = null;
  at("unlock").classList.remove("held");
}

at("lock").addEventListener("click", cover);
for (const kind of ["pointerdown", "keydown"]) at("unlock").addEventListener(kind, hold);
for (const kind of ["pointerup", "pointercancel", "pointerleave", "keyup", "blur"]) {
  at("unlock").addEventListener(kind, release);
}

if (!link.isExpected) trouble(WORDS.noCode, WORDS.noCodeMend);
