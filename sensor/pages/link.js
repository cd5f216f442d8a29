// The way to the computer that gave this page: a socket, or where the browser refuses one, posts.
//
// A page comes with a token after `#`, good once, and stays with a key that only this tab knows.

const KEY = "key";
const OPEN_MS = 3000; // a socket that isn't open by then is tried no more
const AGAIN_MS = [300, 600, 1200, 2000];
const PUSH_MS = 50;
const NOT_KNOWN = 4401;

/// What the page is told: `welcome(name)`, `gone()`, `refused()`, `cue(word)`, `pressed(number)`, `taken(number)`,
/// `beat(what the pacer shows)`.
export class Link {
  #role;
  #told;
  #token;
  #key;
  #socket = null;
  #pushes = false; // posts instead of a socket
  #wasOpen = false;
  #tries = 0;
  #isOver = false; // the run has ended: nobody is there any more
  #waiting = []; // messages for the next post

  constructor(role, told) {
    this.#role = role;
    this.#told = told;
    this.#token = new URLSearchParams(location.hash.slice(1)).get("t");
    this.#key = sessionStorage.getItem(KEY);
    // The token is not for anybody who looks at the address.
    if (this.#token) history.replaceState(null, "", location.pathname);
  }

  /// Whether this page was ever let in, or may be.
  get isExpected() {
    return Boolean(this.#token || this.#key);
  }

  connect() {
    if (this.#pushes) return this.#startPushing();
    const socket = new WebSocket(`wss://${location.host}/ws`);
    this.#socket = socket;
    const late = setTimeout(() => socket.close(), OPEN_MS);
    socket.onopen = () => {
      clearTimeout(late);
      this.#wasOpen = true;
      socket.send(this.#hello());
    };
    socket.onmessage = (event) => this.#hear(JSON.parse(event.data));
    socket.onclose = (event) => {
      clearTimeout(late);
      this.#socket = null;
      if (this.#isOver) return;
      if (event.code === NOT_KNOWN) return this.#told.refused();
      this.#told.gone();
      // A browser that accepted the page's certificate may still refuse it for sockets.
      this.#pushes = !this.#wasOpen;
      this.#again();
    };
  }

  /// Sends a message, if there is a way now. Returns whether there was.
  send(message) {
    if (this.#socket?.readyState === WebSocket.OPEN) {
      this.#socket.send(JSON.stringify(message));
      return true;
    }
    if (this.#pushes && this.#key && this.#waiting.length < 32) {
      this.#waiting.push(message);
      return true;
    }
    return false;
  }

  /// How much the browser holds back, bytes.
  get held() {
    return this.#socket?.bufferedAmount ?? 0;
  }

  #hello() {
    const hello = { hello: 1, role: this.#role, o: performance.timeOrigin };
    if (this.#token) hello.t = this.#token;
    if (this.#key) hello.r = this.#key;
    return JSON.stringify(hello);
  }

  #again() {
    const wait = AGAIN_MS[Math.min(this.#tries++, AGAIN_MS.length - 1)];
    setTimeout(() => this.connect(), wait);
  }

  #hear(said) {
    if ("ok" in said) {
      this.#key = said.r;
      this.#token = null;
      this.#tries = 0;
      sessionStorage.setItem(KEY, said.r);
      this.#told.welcome(said.name);
    } else if ("q" in said) {
      this.send({ q: said.q, c: performance.now() });
      this.#told.taken?.(said.a);
    } else if ("mk" in said) {
      this.#told.pressed?.(said.mk);
    } else if ("beat" in said) {
      this.#told.beat?.(said);
    } else if ("cue" in said) {
      this.#isOver = said.cue === "end";
      this.#told.cue(said.cue);
    }
  }

  async #post(body) {
    const answer = await fetch("/push", { method: "POST", body, signal: AbortSignal.timeout(5000) });
    if (answer.status === 401) throw new Refused();
    if (!answer.ok) throw new Error(String(answer.status));
    for (const said of await answer.json()) this.#hear(said);
  }

  async #startPushing() {
    try {
      await this.#post(this.#hello());
      while (!this.#isOver) {
        await new Promise((done) => setTimeout(done, PUSH_MS));
        const messages = this.#waiting.splice(0);
        try {
          await this.#post(JSON.stringify({ r: this.#key, m: messages }));
        } catch (fault) {
          if (fault instanceof Refused) throw fault;
          this.#waiting.unshift(...messages);
          throw fault;
        }
      }
    } catch (fault) {
      if (fault instanceof Refused) return this.#told.refused();
      this.#told.gone();
      this.#again();
    }
  }
}

class Refused extends Error {}

/// Keeps the screen on while the page is seen. `told(isOn)` on each change.
export function keepScreenOn(told) {
  const ask = async () => {
    try {
      const lock = await navigator.wakeLock.request("screen");
      told(true);
      lock.addEventListener("release", () => told(false));
    } catch {
      told(false); // not offered, or the battery is low
    }
  };
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") ask();
  });
  ask();
}

/// A tone and a buzz, where the phone has them. To be made within a tap.
export function voice() {
  const audio = new AudioContext();
  return (isLong) => {
    navigator.vibrate?.(isLong ? [250, 100, 250] : 60);
    audio.resume();
    const tone = audio.createOscillator();
    const level = audio.createGain();
    const end = audio.currentTime + (isLong ? 0.6 : 0.15);
    tone.frequency.value = isLong ? 660 : 990;
    level.gain.setValueAtTime(0.4, audio.currentTime);
    level.gain.linearRampToValueAtTime(0, end);
    tone.connect(level).connect(audio.destination);
    tone.start();
    tone.stop(end);
  };
}

/// Shows one part of the page and hides its siblings; says it to whoever listens instead of looking.
export function show(id) {
  for (const part of document.querySelectorAll("main > section")) part.hidden = part.id !== id;
}

export const at = (id) => document.getElementById(id);

/// Puts the words where they belong.
export function fill(words) {
  for (const part of document.querySelectorAll("[data-words]")) part.textContent = words[part.dataset.words];
}
