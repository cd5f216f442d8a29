// The button in the client's hand: a press is of the moment it was made, whenever it is heard.

import { Link, at, fill, keepScreenOn, show, voice } from "./link.js";

const WORDS = {
  title: "Hand marker",
  how: "Hold this phone in one hand. Press the button at the first pull at the back of the thigh.",
  care: "At pain, tingling or numbness below the knee: say so at once, and let the leg down.",
  start: "Start",
  pull: "First pull",
  connecting: "Connecting …",
  ready: "Ready",
  gone: "Connection lost, trying again; presses are kept",
  pressed: (count) => `Marked ${count}`,
  waiting: (count) => `${count} to be sent`,
  stop: "STOP: lower the leg",
  end: "Done",
  refused: "This code was used, or is too old",
  refusedMend: "Ask for a new code on the computer and scan it.",
  noCode: "This page needs a code",
  noCodeMend: "Scan the square on the computer's screen.",
};

const AGAIN_MS = 400;
const BOUNCE_MS = 300; // nobody presses twice so fast
const LIT_MS = 500;

fill(WORDS);

const presses = new Map(); // number to moment, until the computer has it
let number = 0;
let marked = 0;
let pressedAt = -Infinity;
let signal = () => {};

const link = new Link("marker", {
  welcome() {
    say(WORDS.ready);
    send();
  },
  gone() {
    say(WORDS.gone);
  },
  refused() {
    show("trouble");
    at("what").textContent = WORDS.refused;
    at("mend").textContent = WORDS.refusedMend;
  },
  pressed(known) {
    if (presses.delete(known)) marked += 1;
    tell();
  },
  cue(word) {
    signal(true);
    say(word === "stop" ? WORDS.stop : WORDS.end);
  },
});

function say(text) {
  at("state").textContent = text;
}

function tell() {
  const waiting = presses.size ? `, ${WORDS.waiting(presses.size)}` : "";
  at("count").textContent = number ? WORDS.pressed(marked) + waiting : "";
}

function send() {
  for (const [mk, t] of presses) link.send({ mk, t });
}

function press(event) {
  if (event.type === "keydown" && ![" ", "Enter"].includes(event.key)) return;
  event.preventDefault();
  if (event.repeat || event.timeStamp - pressedAt < BOUNCE_MS) return;
  pressedAt = event.timeStamp;
  number += 1;
  presses.set(number, event.timeStamp);
  signal(false);
  at("pull").classList.add("held");
  setTimeout(() => at("pull").classList.remove("held"), LIT_MS);
  send();
  tell();
}

at("go").addEventListener("click", () => {
  signal = voice();
  show("running");
  say(WORDS.connecting);
  keepScreenOn(() => {});
  link.connect();
  setInterval(send, AGAIN_MS);
  at("pull").focus();
});

for (const kind of ["pointerdown", "keydown"]) at("pull").addEventListener(kind, press);

addEventListener("beforeunload", (event) => {
  if (presses.size) event.preventDefault();
});

if (!link.isExpected) {
  show("trouble");
  at("what").textContent = WORDS.noCode;
  at("mend").textContent = WORDS.noCodeMend;
}
