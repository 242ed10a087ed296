/**
 * MIDI instruments that the browser itself hears (Web MIDI): a full input for wherever the page is open.
 *
 * Every message is stamped with the time of its own event, which the browser takes when the message arrives, never with
 * the time at which this page gets round to it (W3C Web MIDI API: MIDIMessageEvent and its `timeStamp`).
 *
 * @module midi
 */

/**
 * Why the browser hears no instrument, or that it does:
 * `off` nobody asked; `insecure` not over https or on this computer; `unknown` a browser without Web MIDI; `touch` it was
 * wanted the last time, and the browser wants to be asked by a touch; `asking`; `refused` by player or browser; `failed`;
 * `on`.
 *
 * @typedef {"off" | "insecure" | "unknown" | "touch" | "asking" | "refused" | "failed" | "on"} MidiState
 */

/** @typedef {{stamp: number, channel: number, pitch: number, velocity: number}} PlayedNote channel 1..16 */

/**
 * @typedef {object} MidiParts what it is made of; tests pass their own
 * @property {any} navigator
 * @property {boolean} secure whether the page is a secure context
 * @property {() => Storage} storage where it is kept what was chosen; throws where that is refused
 * @property {() => number} now seconds on the page's clock
 * @property {(stamp: number, data: number[]) => void} onMessage called for each channel message, seconds and bytes
 * @property {(name: string, stamp: number) => void} onInstrument called when what is heard has come, changed or gone; the
 *   name is empty for nothing
 */

const KEPT = "midi-input";

/** What a system sends on to itself is nobody's instrument; Linux has such a port always (from memory). */
const THROUGH = /^midi through\b/i;

/** Data bytes behind the status byte, by its upper half (MIDI 1.0, table of channel messages). */
const DATA_BYTES = Object.freeze({ 0x80: 2, 0x90: 2, 0xa0: 2, 0xb0: 2, 0xc0: 1, 0xd0: 1, 0xe0: 2 });

/**
 * Whether bytes are a whole channel message: no clock, no active sensing, nothing exclusive to a system.
 *
 * @param {ArrayLike<number>} data
 */
export function isChannelMessage(data) {
  const bytes = /** @type {Record<number, number>} */ (DATA_BYTES)[data[0] & 0xf0];
  return bytes !== undefined && data.length === bytes + 1;
}

/** The inputs of the browser. */
export class Midi {
  /** @param {MidiParts} parts */
  constructor(parts) {
    this.parts = parts;
    /** @type {MidiState} */
    this.state = "off";
    /** What the browser said when it failed. */
    this.fault = "";
    /** @type {any} */
    this.access = null;
    /** The name of what is heard; empty for nothing. */
    this.name = "";
    /** @type {any[]} the inputs that were there when it was looked last */
    this.plugged = [];
    /** @type {Set<any>} the inputs that are listened to */
    this.heard = new Set();
    /** @type {Set<string>} the names of inputs that another program keeps for itself */
    this.busy = new Set();
    /** @type {(() => void)[]} */
    this.listeners = [];
    /** @type {((note: PlayedNote) => void)[]} */
    this.noteListeners = [];
    /** @type {{on: boolean, input: string}} `input` is empty for all of them */
    this.chosen = this.#kept();
  }

  /**
   * @param {() => void} listener called when anything changes that is to be seen
   */
  onChange(listener) {
    this.listeners.push(listener);
  }

  /**
   * @param {(note: PlayedNote) => void} listener called for each note that begins
   */
  onNote(listener) {
    this.noteListeners.push(listener);
  }

  /** The names of the inputs that are there, each once. */
  get inputs() {
    return [...new Set(this.#there().map((input) => input.name ?? ""))].filter((name) => name !== "").sort();
  }

  /** Takes up what was heard the last time, where the browser allows that without a touch. */
  async resume() {
    this.#turn(this.#lacking() ?? "off");
    if (this.state !== "off" || !this.chosen.on) {
      return;
    }
    if (await this.#isGranted()) {
      await this.connect();
    } else {
      this.#turn("touch");
    }
  }

  /** Hears instruments from now on; to be called on the player's touch. */
  async connect() {
    const lacking = this.#lacking();
    if (lacking !== null) {
      this.#turn(lacking);
      return;
    }
    this.#turn("asking");
    try {
      this.access = await this.parts.navigator.requestMIDIAccess({ sysex: false });
    } catch (error) {
      const { name, message } = /** @type {DOMException} */ (error);
      this.fault = message;
      // NotAllowedError is that of the specification; browsers have said SecurityError for the same (from memory).
      this.#turn(name === "NotAllowedError" || name === "SecurityError" ? "refused" : "failed");
      return;
    }
    this.access.onstatechange = (/** @type {Event} */ event) => this.#plugged(event.timeStamp / 1000);
    this.#keep({ ...this.chosen, on: true });
    this.plugged = this.#there();
    this.#turn("on");
    await this.#follow(this.parts.now());
  }

  /** Hears nothing any more, also when the page is opened the next time. */
  disconnect() {
    this.#keep({ ...this.chosen, on: false });
    if (this.access !== null) {
      this.access.onstatechange = null;
      this.access = null;
    }
    this.#turn("off");
    void this.#follow(this.parts.now());
  }

  /**
   * Hears one input, also when it is there only later.
   *
   * @param {string} name empty for all
   */
  async choose(name) {
    this.#keep({ ...this.chosen, input: name });
    await this.#follow(this.parts.now());
  }

  /** What is lacking for hearing anything; null for nothing. */
  #lacking() {
    if (!this.parts.secure) {
      return "insecure";
    }
    return typeof this.parts.navigator.requestMIDIAccess === "function" ? null : "unknown";
  }

  /** Whether the browser would not ask the player. */
  async #isGranted() {
    try {
      return (await this.parts.navigator.permissions.query({ name: "midi" })).state === "granted";
    } catch {
      return false; // a browser that does not tell is asked by a touch
    }
  }

  /**
   * Something was plugged in or out; or opened, which is no news.
   *
   * @param {number} stamp
   */
  #plugged(stamp) {
    const there = this.#there();
    if (there.length !== this.plugged.length || there.some((input) => !this.plugged.includes(input))) {
      this.plugged = there;
      void this.#follow(stamp);
    }
  }

  /** @returns {any[]} the inputs that are plugged in */
  #there() {
    return this.access === null
      ? []
      : [...this.access.inputs.values()].filter(({ state, name }) => state === "connected" && !THROUGH.test(name ?? ""));
  }

  /** @returns {any[]} those of them that are to be heard */
  #wished() {
    const { input: wanted } = this.chosen;
    return this.#there().filter(({ name }) => wanted === "" || name === wanted);
  }

  /**
   * Listens to the inputs that are chosen and there, and lets the others go.
   *
   * @param {number} stamp when something changed, in seconds on the page's clock
   */
  async #follow(stamp) {
    const wished = this.#wished();
    for (const input of this.heard) {
      if (!wished.includes(input)) {
        input.onmidimessage = null;
        this.heard.delete(input);
        if (input.state === "connected") {
          void input.close(); // other programs may have it
        }
      }
    }
    this.busy.clear();
    this.#tell(stamp);
    await Promise.all(wished.filter((input) => !this.heard.has(input)).map((input) => this.#open(input, stamp)));
  }

  /**
   * Opens an input, and listens to it unless another program keeps it for itself.
   *
   * @param {any} input
   * @param {number} stamp
   */
  async #open(input, stamp) {
    try {
      await input.open();
    } catch {
      this.busy.add(input.name);
      this.#changed();
      return;
    }
    if (this.#wished().includes(input)) {
      input.onmidimessage = (/** @type {any} */ event) => this.#take(event);
      this.heard.add(input);
      this.#tell(stamp);
    }
  }

  /**
   * Tells what is heard now, where it is another thing.
   *
   * @param {number} stamp
   */
  #tell(stamp) {
    const names = [...new Set([...this.heard].map((input) => input.name ?? ""))].sort();
    const name = names.join(" and ").slice(0, 150);
    if (name !== this.name) {
      this.name = name;
      this.parts.onInstrument(name, stamp);
    }
    this.#changed();
  }

  /** @param {{data: Uint8Array, timeStamp: number}} event */
  #take({ data, timeStamp }) {
    if (!isChannelMessage(data)) {
      return;
    }
    const stamp = timeStamp / 1000;
    this.parts.onMessage(stamp, [...data]);
    if ((data[0] & 0xf0) === 0x90 && data[2] > 0) {
      const note = { stamp, channel: (data[0] & 0x0f) + 1, pitch: data[1], velocity: data[2] };
      for (const listener of this.noteListeners) {
        listener(note);
      }
    }
  }

  /** @param {MidiState} state */
  #turn(state) {
    this.state = state;
    this.#changed();
  }

  #changed() {
    for (const listener of this.listeners) {
      listener();
    }
  }

  /** @returns {{on: boolean, input: string}} */
  #kept() {
    try {
      const { on, input } = JSON.parse(this.parts.storage().getItem(KEPT) ?? "{}");
      return { on: on === true, input: typeof input === "string" ? input : "" };
    } catch {
      return { on: false, input: "" }; // storage is refused, or holds what was not written here
    }
  }

  /** @param {{on: boolean, input: string}} chosen */
  #keep(chosen) {
    this.chosen = chosen;
    try {
      this.parts.storage().setItem(KEPT, JSON.stringify(chosen));
    } catch {
      // storage is refused: it holds until the page is closed
    }
  }
}
