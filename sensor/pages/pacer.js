// The picture that paces a drill: a circle that goes with the breath, what to do, and what is left of it.

import { Link, at, fill, keepScreenOn, show, voice } from "./link.js";

const WORDS = {
  title: "Pacer",
  how: "Put this phone where it can be seen while the drill is done. Follow the circle.",
  care: "At pain, tingling or numbness: stop, and say so at once.",
  start: "Start",
  connecting: "Connecting …",
  waiting: "Waiting for the drill",
  paused: "Pause",
  gone: "Connection lost, trying again",
  end: "Done",
  refused: "This code was used, or is too old",
  refusedMend: "Ask for a new code on the computer and scan it.",
  noCode: "This page needs a code",
  noCodeMend: "Scan the square on the computer's screen.",
};

const SMALL = 0.45; // the circle when all is out, against all in

fill(WORDS);

let beat = null; // what the computer said last
let heardAt = 0; // when, on this page's clock
let signal = () => {};

const link = new Link("pacer", {
  welcome() {
    if (!beat) say(WORDS.waiting);
    draw();
  },
  gone() {
    say(WORDS.gone);
  },
  refused() {
    show("trouble");
    at("what").textContent = WORDS.refused;
    at("mend").textContent = WORDS.refusedMend;
  },
  beat(said) {
    const isNew = !beat || beat.word !== said.word || beat.count !== said.count || beat.say !== said.say;
    if (isNew && said.on) signal(said.beat === "small");
    [beat, heardAt] = [said, performance.now()];
    say(said.on || !said.of ? "" : WORDS.paused);
    at("word").textContent = said.word;
    at("say").textContent = said.say;
    at("count").textContent = said.count;
  },
  cue(word) {
    if (word !== "end") return;
    beat = null;
    signal(true);
    say(WORDS.end);
    for (const id of ["left", "word", "say", "count"]) at(id).textContent = "";
  },
});

function say(text) {
  if (at("state").textContent !== text) at("state").textContent = text;
}

/// How full the circle is, from 0 to 1.
function fullness(share) {
  return { grow: share, shrink: 1 - share, swing: Math.sin(Math.PI * share), large: 1, small: 0 }[beat.beat] ?? 0;
}

function draw() {
  const since = beat?.on ? (performance.now() - heardAt) / 1000 : 0;
  const left = beat ? Math.max(0, beat.left - since) : 0;
  const full = beat?.of > 0 ? fullness(Math.min(1, Math.max(0, 1 - left / beat.of))) : 0;
  at("circle").style.transform = `scale(${SMALL + (1 - SMALL) * full})`;
  if (beat) at("left").textContent = String(Math.ceil(left));
}

function frames() {
  draw();
  requestAnimationFrame(frames);
}

at("go").addEventListener("click", () => {
  signal = voice();
  show("running");
  say(WORDS.connecting);
  keepScreenOn(() => {});
  link.connect();
  frames();
});

if (!link.isExpected) {
  show("trouble");
  at("what").textContent = WORDS.noCode;
  at("mend").textContent = WORDS.noCodeMend;
}
