/**
 * What the page knows: the last of each message of the service, and the pass that is being played.
 *
 * Pure: messages in, changes out. Listeners are called at once and in order, with the part that changed.
 *
 * @module state
 */

/** @typedef {import("./messages.js").Message} Message */
/** @typedef {"line" | "hello" | "tunes" | "ports" | "state" | "begin" | "place" | "verdict" | "measure" | "report" | "failure" |
 *   "calibrated" | "foot" | "meter" | "played" | "watched" | "offer" | "pins" | "assigned"} Part */

const PARTS = Object.freeze([
  "line", "hello", "tunes", "ports", "state", "begin", "place", "verdict", "measure", "report", "failure",
  "calibrated", "foot", "meter", "played", "watched", "offer", "pins", "assigned",
]);

/** States in which a pass is going on. */
const PLAYING = new Set(["counting in", "playing"]);

/** The page's memory. */
export class Practice {
  constructor() {
    /** @type {any} */
    this.hello = null;
    /** @type {import("./messages.js").TuneLine[]} */
    this.tunes = [];
    /** @type {import("./messages.js").Ports | null} */
    this.ports = null;
    /** The MIDI instrument that this page hears itself; empty for none. */
    this.hears = "";
    /** @type {import("./messages.js").State | null} */
    this.state = null;
    /** @type {import("./messages.js").Begin | null} */
    this.begin = null;
    /** @type {import("./messages.js").Report | null} */
    this.report = null;
    /** @type {Map<number, import("./messages.js").MeasureScore>} of the pass that is played or was played last */
    this.scores = new Map();
    /** @type {import("./messages.js").Place | null} where the player is, in a pass in free time */
    this.place = null;
    /** @type {Map<string, string>} the pluck that a note was marked at, by its seat and number */
    this.marked = new Map();
    /** @type {Map<string, Message>} the last of each kind that comes of a teacher */
    this.studio = new Map();
    /** The metre of the sheet that is shown. */
    this.meter = "4/4";
    this.up = false;
    /** Whether the pass that is played, or was played last, is a run as in a jam. */
    this.jam = false;
    /** @type {number} the pass that the player is asked to mark, 0 for none */
    this.unmarked = 0;
    /** @type {Map<string, ((value: any) => void)[]>} */
    this.listeners = new Map(PARTS.map((part) => [part, []]));
  }

  /** Whether a pass is going on. */
  get playing() {
    return this.state !== null && PLAYING.has(this.state.state);
  }

  /** Whether a pass is going on, or the next will begin by itself. */
  get going() {
    const comes = this.state?.keep_going === true && this.state.state === "between passes" && this.unmarked === 0;
    return this.playing || comes;
  }

  /**
   * Whether a tune of the list is a roll study.
   *
   * @param {string} id
   */
  isStudy(id) {
    return this.tunes.some((tune) => tune.id === id && tune.study);
  }

  /**
   * @param {Part} part
   * @param {(value: any) => void} listener
   */
  on(part, listener) {
    const known = this.listeners.get(part);
    if (known === undefined) {
      throw new TypeError(`no part is called ${JSON.stringify(part)}`);
    }
    known.push(listener);
  }

  /**
   * Takes the name of the instrument that this page hears itself.
   *
   * @param {string} name empty for none
   */
  hear(name) {
    this.hears = name;
    this.#tell("ports", this.ports);
  }

  /**
   * Takes the metre of the sheet that is shown.
   *
   * @param {string} meter
   */
  read(meter) {
    this.meter = meter;
    this.#tell("meter", meter);
  }

  /**
   * Takes a message of the service. What belongs to another pass than the one at hand is dropped.
   *
   * @param {Message} message
   */
  take(message) {
    switch (message.kind) {
      case "hello":
        this.hello ??= message;
        this.#tell("hello", message);
        break;
      case "tunes":
        this.tunes = message.tunes;
        this.#tell("tunes", message.tunes);
        break;
      case "ports":
        this.ports = /** @type {any} */ (message);
        this.#tell("ports", message);
        break;
      case "state":
        this.#takeState(/** @type {any} */ (message));
        break;
      case "begin":
        this.#takeBegin(/** @type {any} */ (message));
        break;
      case "heard":
        if (message.number === this.begin?.number) {
          this.#takeHeard(message);
        }
        break;
      case "place":
        if (message.number === this.begin?.number) {
          this.place = /** @type {any} */ (message);
          this.#tell("place", message);
        }
        break;
      case "verdict":
      case "amend":
        if (message.number === this.begin?.number) {
          this.#tell("verdict", { verdict: message, faint: false });
        }
        break;
      case "measure":
        if (message.number === this.begin?.number) {
          this.scores.set(message.score.number, message.score);
          this.#tell("measure", message.score);
        }
        break;
      case "report":
        this.unmarked = message.asks ? message.number : 0;
        this.report = /** @type {any} */ (message);
        this.scores = new Map(reached(/** @type {any} */ (message)).map((score) => [score.number, score]));
        this.#tell("report", message);
        break;
      case "failure":
      case "calibrated":
      case "foot":
      case "played":
        this.#tell(message.kind, message);
        break;
      case "watched":
      case "offer":
      case "pins":
      case "assigned":
        this.studio.set(message.kind, message);
        this.#tell(message.kind, message);
        break;
    }
  }

  /**
   * @param {boolean} up whether the service is there
   */
  line(up) {
    this.up = up;
    this.#tell("line", up);
  }

  /**
   * The first word on a note, or another one when it is seen otherwise. An extra is only drawn when it is final.
   *
   * @param {Message} message
   */
  #takeHeard(message) {
    const note = `${message.seat} ${message.seq}`;
    const before = this.marked.get(note);
    this.marked.delete(note);
    if (before !== undefined && before !== message.id) {
      this.#tell("verdict", { verdict: { ...message, id: before, verdict: "on time" }, faint: true });
    }
    if (message.id !== null) {
      this.marked.set(note, message.id);
      this.#tell("verdict", { verdict: { ...message, verdict: message.mark }, faint: true });
    }
  }

  /** @param {import("./messages.js").State} state */
  #takeState(state) {
    if (this.state !== null && this.state.digest !== state.digest) {
      this.scores.clear();
      this.report = null;
      if (!state.learning) {
        this.begin = null; // the run from which the instrument is learned goes on, whatever is on the sheet
      }
    }
    if (this.begin === null) {
      this.jam = state.jam; // a page that has just come does not know better
    }
    this.state = state;
    this.#tell("state", state);
  }

  /** @param {import("./messages.js").Begin} begin */
  #takeBegin(begin) {
    const again = this.begin?.number === begin.number; // told once more, after a reconnect or with its origin
    this.begin = begin;
    if (!again) {
      this.place = null;
      this.marked.clear();
    }
    if (!again && !begin.learning) {
      this.jam = this.state?.jam === true;
      this.unmarked = 0;
      this.report = null;
      this.scores.clear();
    }
    this.#tell("begin", { begin, again });
  }

  /**
   * @param {Part} part
   * @param {any} value
   */
  #tell(part, value) {
    for (const listener of this.listeners.get(part) ?? []) {
      listener(value);
    }
  }
}

/**
 * The scores of the measures that a pass came to: behind the last in which something was played a stop cut them off. Of
 * that one it may have cut off the rest; what was missed in it says nothing then.
 *
 * @param {import("./messages.js").Report} report
 * @returns {import("./messages.js").MeasureScore[]}
 */
function reached({ whole, measures }) {
  const last = measures.map(({ played }) => played > 0).lastIndexOf(true);
  return whole
    ? measures
    : measures.slice(0, last + 1).map((score, at) => (at === last && score.missed > 0 ? { ...score, cut: true } : score));
}
