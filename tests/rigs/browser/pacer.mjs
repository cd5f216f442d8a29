// The pacer on a phone in a real browser, through the real program: `node pacer.mjs PROGRAM [PICTURES]`.
//
// A drill is paced by `legraise pace`; the page must show each stretch within half a second of when the program says it
// is due, and its circle must go with the breath. One socket breaks on the way.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { mkdtempSync, mkdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const [program, pictures] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "legraise-pacer-"));
if (pictures) mkdirSync(pictures, { recursive: true });
const wait = (ms) => new Promise((done) => setTimeout(done, ms));

const words = ["pace", "calves-up-long-breath", "--json", "--phone", "--page-address", "127.0.0.1"];
const paced = spawn(program, words, { env: { ...process.env, XDG_CONFIG_HOME: folder }, stdio: ["ignore", "pipe", "pipe"] });
const due = []; // what the program says, and when it said it
let told = "";
let rest = "";
paced.stdout.on("data", (bytes) => {
  const parts = (rest + bytes).split("\n");
  rest = parts.pop();
  for (const part of parts) due.push({ ...JSON.parse(part), at: performance.now() });
});
paced.stderr.on("data", (bytes) => (told += bytes));

async function url() {
  for (let tries = 0; tries < 100; tries += 1) {
    const found = told.match(/^pacer: scan this[^]*?(https:\S+)/m);
    if (found) return found[1];
    await wait(100);
  }
  throw new Error(`no address: ${told}`);
}

const browser = await chromium.launch({
  executablePath: process.env.LEGRAISE_CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"],
});
try {
  const context = await browser.newContext({
    viewport: { width: 390, height: 844 }, isMobile: true, hasTouch: true, deviceScaleFactor: 2, ignoreHTTPSErrors: true,
    colorScheme: "dark",
  });
  const page = await context.newPage();
  const faults = [];
  page.on("pageerror", (fault) => faults.push(fault));
  await page.addInitScript(() => {
    globalThis.sockets = [];
    globalThis.WebSocket = class extends WebSocket {
      constructor(...all) { super(...all); globalThis.sockets.push(this); }
    };
  });
  await page.goto(await url());
  assert.equal(due.length, 0, "nothing is paced before the phone is there");
  await page.tap("#go");
  const seen = []; // what the page showed, and when
  const sizes = {};
  const look = async () => page.evaluate(() => ({
    word: document.getElementById("word").textContent,
    count: document.getElementById("count").textContent,
    left: Number(document.getElementById("left").textContent),
    size: new DOMMatrix(getComputedStyle(document.getElementById("circle")).transform).a,
  }));
  const began = performance.now();
  let isBroken = false;
  while (performance.now() - began < 30_000) {
    const now = await look();
    const at = performance.now();
    const before = seen.at(-1);
    if (now.word && (!before || before.word !== now.word || before.count !== now.count)) seen.push({ ...now, at });
    if (now.word) (sizes[now.word] ??= []).push(now.size);
    if (pictures && seen.length === 3 && now.size > 0.7) await page.screenshot({ path: join(pictures, "phone-pacer.png") });
    if (!isBroken && seen.length === 3) {
      isBroken = true;
      await page.evaluate(() => globalThis.sockets.at(-1).close());
    }
    await wait(40);
  }
  assert.deepEqual(faults, []);
  assert.ok(seen.length >= 4, JSON.stringify(seen));
  // Both clocks are this process's: when the program printed a stretch, and when the page showed it.
  seen.forEach((shown, n) => {
    assert.equal(shown.word, due[n].word);
    if (n > 0) assert.ok(Math.abs(shown.at - due[n].at) < 500, `${shown.word} ${n}: ${shown.at - due[n].at} ms late`);
    assert.ok(Math.abs(shown.left - Math.ceil(due[n].length_s)) <= 1, `${shown.word}: ${shown.left} s of ${due[n].length_s}`);
  });
  const spread = (word) => Math.max(...sizes[word]) - Math.min(...sizes[word]);
  for (const word of ["breathe in", "breathe out"]) {
    assert.ok(spread(word) > 0.4, `${word}: the circle went by ${spread(word)}`);
  }
  const late = seen.slice(1).map((shown, n) => shown.at - due[n + 1].at);
  console.log(`${seen.length} stretches, shown at most ${Math.max(...late).toFixed(0)} ms after they were due`);
} catch (fault) {
  console.error(told);
  throw fault;
} finally {
  await browser.close();
  paced.kill();
  rmSync(folder, { recursive: true, force: true });
}
console.log("pacer in a browser: ok");
