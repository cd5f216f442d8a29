// Two phones and a hand marker in a real browser, through the real program: `node pages.mjs PROGRAM [SECONDS] [PICTURES]`.
//
// The phones' sensors are emulated and driven along a known course: the right leg is raised to 60° and 70°, the left one
// to 45°. The left phone counts its acceleration the other way round. On the way one socket breaks, one page is loaded
// anew, and callers that are not ours try everything. At the end the recording is analysed and held against the course.
// SECONDS (50 at least) lengthens the last rest; PICTURES is a folder for screenshots.

import assert from "node:assert/strict";
import { spawn, execFileSync } from "node:child_process";
import { mkdtempSync, mkdirSync, readFileSync, readdirSync, rmSync } from "node:fs";
import https from "node:https";
import net from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";
import WebSocket from "ws";

if (process.argv[2] === "attack") {
  // In a process of its own, or the emulated sensors would stand still meanwhile.
  await attack(Number(process.argv[3]), process.argv[4]);
  process.exit(0);
}

const [program, seconds = "50", pictures] = process.argv.slice(2);
const SECONDS = Math.max(50, Number(seconds));
const G = 9.80665;
const folder = mkdtempSync(join(tmpdir(), "legraise-pages-"));
const data = join(folder, "data");
if (pictures) mkdirSync(pictures, { recursive: true });
function wait(ms) {
  return new Promise((done) => setTimeout(done, ms));
}

const ARM_M = 0.6; // from the hip to the phone

// From one angle to another with least jerk: degrees, degrees a second, degrees a second squared.
function between(t, from, to, a, b) {
  const x = Math.min(1, Math.max(0, (t - from) / (to - from)));
  const span = to - from;
  const angle = a + (b - a) * x ** 3 * (10 - 15 * x + 6 * x * x);
  const rate = ((b - a) / span) * 30 * x * x * (1 - x) ** 2;
  const change = ((b - a) / span ** 2) * 60 * x * (1 - x) * (1 - 2 * x);
  return [angle, rate, change];
}

function course(side, t) {
  const raises = side === "right" ? [[5, 10, 13, 17, 60], [34, 40, 42, 46, 70]] : [[20, 24, 27, 31, 45]];
  for (const [up, top, down, end, height] of raises) {
    if (t >= up && t < down) return between(t, up, top, 0, height);
    if (t >= down && t < end) return between(t, down, end, height, 0);
  }
  return [0, 0, 0];
}

/// The program, with what it says.
class Live {
  constructor() {
    const words = ["live", "shinright=phone:", "shinleft=phone:", "--marker", "--page-address", "127.0.0.1"];
    words.push("--json", "--seconds", String(SECONDS), "--data", data);
    this.lines = [];
    this.told = "";
    this.process = spawn(program, words, { env: { ...process.env, XDG_CONFIG_HOME: folder }, stdio: ["ignore", "pipe", "pipe"] });
    let rest = "";
    this.process.stdout.on("data", (bytes) => {
      const parts = (rest + bytes).split("\n");
      rest = parts.pop();
      for (const part of parts) this.lines.push(JSON.parse(part));
    });
    this.process.stderr.on("data", (bytes) => (this.told += bytes));
    this.ended = new Promise((done) => this.process.on("close", done));
  }

  async url(role) {
    const pattern = new RegExp(`^${role}: scan this[^]*?(https://\\S+)`, "m");
    for (let tries = 0; tries < 100; tries += 1) {
      const found = this.told.match(pattern);
      if (found) return found[1];
      await wait(100);
    }
    throw new Error(`no address for ${role}: ${this.told}`);
  }
}

/// A phone: a page with emulated sensors.
class Phone {
  static async open(browser, url, side, sign) {
    const phone = new Phone();
    Object.assign(phone, { side, sign, sets: 0 });
    phone.context = await browser.newContext({
      viewport: { width: 390, height: 844 }, isMobile: true, hasTouch: true, deviceScaleFactor: 2, ignoreHTTPSErrors: true,
      colorScheme: side === "left" ? "dark" : "light",
    });
    phone.page = await phone.context.newPage();
    phone.page.on("dialog", (dialog) => dialog.accept());
    phone.page.on("pageerror", (fault) => { throw fault; });
    await phone.page.addInitScript(() => {
      globalThis.sockets = [];
      globalThis.WebSocket = class extends WebSocket {
        constructor(...words) { super(...words); globalThis.sockets.push(this); }
      };
    });
    phone.session = await phone.context.newCDPSession(phone.page);
    for (const type of ["accelerometer", "linear-acceleration", "gyroscope", "relative-orientation"]) {
      await phone.session.send("Emulation.setSensorOverrideEnabled", {
        enabled: true, type, metadata: { available: true, minimumFrequency: 1, maximumFrequency: 200 },
      });
    }
    await phone.set(0);
    await phone.page.goto(url);
    return phone;
  }

  /// What the phone's sensors feel at a moment of the course.
  async set(t) {
    const [angle, rate, change] = course(this.side, t).map((degrees) => (degrees * Math.PI) / 180);
    const xyz = (x, y, z) => ({ reading: { xyz: { x, y, z } } });
    // The top edge points to the knee: the pull to the hip is along y, the swing along z.
    const force = [0, -G * Math.sin(angle) + ARM_M * rate ** 2, G * Math.cos(angle) + ARM_M * change];
    const send = (type, reading) => this.session.send("Emulation.setSensorOverrideReadings", { type, ...reading });
    await Promise.all([
      send("accelerometer", xyz(...force.map((part) => part * this.sign))),
      send("linear-acceleration", xyz(0, 0, 0)),
      send("gyroscope", xyz(-rate, 0, 0)),
      send("relative-orientation", { reading: { quaternion: { x: Math.sin(-angle / 2), y: 0, z: 0, w: Math.cos(angle / 2) } } }),
    ]);
    this.sets += 1;
  }

  async start() {
    await this.page.tap("#go");
    await this.page.waitForFunction(() => ["Connected", "Ready"].includes(document.getElementById("state").textContent));
  }

  picture(name) {
    return pictures ? this.page.screenshot({ path: join(pictures, `phone-${name}.png`) }) : null;
  }
}

/// Answers to callers that are not ours.
function request(port, options, body) {
  return new Promise((done) => {
    const call = https.request({ host: "127.0.0.1", port, rejectUnauthorized: false, agent: false, ...options }, (answer) => {
      answer.resume();
      answer.on("end", () => done(answer.statusCode));
      answer.on("error", () => done("closed"));
    });
    call.on("error", () => done("closed"));
    call.end(body);
  });
}

function socket(port, origin, first) {
  return new Promise((done) => {
    const caller = new WebSocket(`wss://127.0.0.1:${port}/ws`, { rejectUnauthorized: false, origin });
    caller.on("open", () => first(caller));
    caller.on("unexpected-response", (_, answer) => done(answer.statusCode));
    caller.on("close", (code) => done(code));
    caller.on("error", () => {});
  });
}

async function attack(port, usedToken) {
  const origin = `https://127.0.0.1:${port}`;
  const hello = (role, t) => (caller) => caller.send(JSON.stringify({ hello: 1, role, t, o: 1 }));
  assert.equal(await socket(port, origin, hello("shin", "0".repeat(32))), 4401, "a wrong token");
  assert.equal(await socket(port, origin, hello("shin", usedToken)), 4401, "a used token");
  assert.equal(await socket(port, origin, hello("marker", usedToken)), 4401, "a token of another role");
  assert.equal(await socket(port, "https://evil.example", () => {}), 403, "another page");
  assert.equal(await socket(port, undefined, () => {}), 403, "no page");
  // Whoever hasn't said hello may not even say that much.
  const long = await socket(port, origin, (caller) => caller.send("x".repeat(100_000)));
  assert.ok([1009, 4401].includes(long), `a long message: ${long}`);
  assert.equal(await request(port, { path: "/", headers: { host: "evil.example" } }), 421, "another name");
  assert.equal(await request(port, { path: "/etc/passwd" }), 404);
  assert.equal(await request(port, { path: "/", method: "PUT" }), 405);
  assert.equal(await request(port, { path: "/", headers: { "x-big": "x".repeat(40_000) } }), 431, "long headers");
  const plain = await new Promise((done) => {
    const caller = net.connect(port, "127.0.0.1", () => caller.write("GET / HTTP/1.1\r\n\r\n"));
    let text = "";
    caller.on("data", (bytes) => (text += bytes));
    caller.on("close", () => done(text));
    setTimeout(() => caller.end(), 500);
  });
  assert.match(plain, /^HTTP\/1\.1 400/, "no encryption");
  const posts = await Promise.all(Array.from({ length: 40 }, () =>
    request(port, { path: "/push", method: "POST", headers: { origin } }, '{"r":"none","m":[]}')));
  assert.ok(posts.every((status) => status === 401 || status === "closed"), `pushes: ${posts}`);
  const silent = Array.from({ length: 40 }, () => net.connect(port, "127.0.0.1").on("error", () => {}));
  const flood = await socket(port, origin, (caller) => {
    for (let n = 0; n < 5000; n += 1) caller.send("{}");
  });
  assert.ok([4401, 1006].includes(flood), `a flood: ${flood}`);
  await wait(6000);
  for (const caller of silent) caller.destroy();
}

async function main() {
  const live = new Live();
  const options = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-renderer-backgrounding",
    "--disable-backgrounding-occluded-windows"];
  const browser = await chromium.launch({ executablePath: process.env.LEGRAISE_CHROMIUM ?? "/usr/bin/chromium", args: options });
  const faults = [];
  let isOn = true;
  try {
    const rightUrl = await live.url("shinright");
    const port = Number(new URL(rightUrl).port);
    const right = await Phone.open(browser, rightUrl, "right", 1);
    const left = await Phone.open(browser, await live.url("shinleft"), "left", -1);
    const marker = await Phone.open(browser, await live.url("hand marker"), "none", 1);
    assert.ok(!right.page.url().includes("#"), "the token is gone from the address");
    await right.picture("before");
    let began = null;
    // All sensors are set in turn, as fast as it goes.
    const driving = (async () => {
      while (isOn) {
        const t = began === null ? 0 : (performance.now() - began) / 1000;
        await Promise.all([right.set(t), left.set(t)]);
        await wait(4);
      }
    })().catch((fault) => isOn && faults.push(fault));
    await right.start();
    await left.start();
    await marker.start();
    await marker.picture("marker");
    while (live.lines.length === 0) {
      assert.equal(live.process.exitCode, null, live.told);
      await wait(10);
    }
    began = performance.now();
    const until = async (t) => wait(Math.max(0, began + t * 1000 - performance.now()));
    await until(3);
    await right.picture("locked");
    await left.picture("dark");
    await until(11);
    await right.page.evaluate(() => globalThis.sockets.at(-1).close());
    await until(17.5);
    await left.page.reload();
    await left.start();
    await until(20);
    const token = new URL(rightUrl).hash.slice(3);
    const attacker = spawn(process.execPath, [process.argv[1], "attack", String(port), token], { stdio: ["ignore", "ignore", "pipe"] });
    let blame = "";
    attacker.stderr.on("data", (bytes) => (blame += bytes));
    const attacked = new Promise((done) => attacker.on("close", (status) => {
      if (status !== 0) faults.push(new Error(`attack: ${blame}`));
      done();
    }));
    let pressedAt = null;
    // At 45° of the second raise of the right leg.
    while (course("right", (performance.now() - began) / 1000)[0] < 45 || performance.now() - began < 34_000) await wait(5);
    pressedAt = (performance.now() - began) / 1000;
    const box = await marker.page.locator("#pull").boundingBox();
    await marker.session.send("Input.dispatchTouchEvent", {
      type: "touchStart", touchPoints: [{ x: box.x + box.width / 2, y: box.y + box.height / 2 }],
    });
    await marker.session.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
    await marker.page.waitForFunction(() => document.getElementById("count").textContent === "Marked 1");
    await marker.picture("marked");
    await attacked;
    const late = await Phone.open(browser, rightUrl, "left", 1);
    await late.page.tap("#go");
    await late.page.waitForFunction(() => document.getElementById("what").textContent.startsWith("This code was used"));
    await late.picture("refused");
    await late.context.close();
    // Unlocked by holding.
    await right.page.locator("#unlock").hover();
    await right.page.mouse.down();
    await wait(2300);
    await right.page.mouse.up();
    await right.picture("connected");
    const status = await live.ended;
    isOn = false;
    await driving;
    await right.page.waitForFunction(() => document.getElementById("state").textContent.startsWith("Done"));
    assert.equal(status, 0, live.told);
    check(live, pressedAt, { right, left });
  } catch (fault) {
    console.error(live.told);
    throw fault;
  } finally {
    isOn = false;
    await browser.close();
    live.process.kill();
    if (process.env.LEGRAISE_KEEP) console.error(folder);
    else rmSync(folder, { recursive: true, force: true });
  }
  if (faults.length) throw faults[0];
}

function check(live, pressedAt, phones) {
  assert.match(live.told, /shinleft: the phone counts its acceleration the other way round/);
  assert.doesNotMatch(live.told, /shinright: the phone counts/);
  assert.doesNotMatch(live.told, /samples lost/, live.told);
  const analysis = JSON.parse(execFileSync(program, ["replay", data, "--json"]));
  const [recording] = analysis.recordings;
  assert.equal(recording.error, null);
  const found = recording.raises.map((raise) => ({ side: raise.side, hold: raise.hold?.angle_deg, u: raise.hold?.uncertainty_deg, end: raise.end_point }));
  const truth = [["right", 60], ["left", 45], ["right", 70]];
  assert.equal(found.length, truth.length, JSON.stringify(found));
  truth.forEach(([side, angle], n) => {
    assert.equal(found[n].side, side);
    assert.ok(Math.abs(found[n].hold - angle) < 0.5, `${side} ${angle}°: ${found[n].hold}`);
  });
  const last = found[2].end;
  assert.equal(last.reason, "pull");
  // What the leg had when the pull was felt, a quarter of a second before the press; 0.1 s at the speed then is 2°.
  const felt = course("right", pressedAt - 0.25)[0];
  assert.ok(Math.abs(last.angle_deg - felt) < 3, `pull at ${last.angle_deg}°, the leg was at ${felt}°`);
  const motion = join(data, "sub-trial/ses-01/motion");
  for (const name of readdirSync(motion).filter((file) => file.endsWith("_motion.tsv"))) {
    const rows = readFileSync(join(motion, name), "utf8").trim().split("\n");
    const times = rows.map((row) => Number(row.split("\t")[0]));
    const rate = (times.length - 1) / (times.at(-1) - times[0]);
    console.log(`${name.match(/tracksys-(\w+?)_/)[1]}: ${rows.length} readings, ${rate.toFixed(1)} a second`);
  }
  const holds = found.map((raise, n) => `${raise.side} ${truth[n][1]}°: ${raise.hold} ± ${raise.u}`);
  console.log(`plateaus ${holds.join(", ")}; pull at ${last.angle_deg}° (leg at ${felt.toFixed(1)}°); sensors set ${phones.right.sets} times`);
}

await main();
console.log("pages in a browser: ok");
