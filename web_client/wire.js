/**
 * The page's end of the websocket: joins, answers pings, reconnects, and loses no note.
 *
 * @module wire
 */

import { FROM_PAGE, FROM_SERVICE, SUBPROTOCOL } from "./messages.js";
import { Outbox } from "./outbox.js";

/** @typedef {import("./messages.js").Message} Message */

/** Seconds before the first, second, ... attempt to reconnect; the last one is repeated. */
export const WAITS = Object.freeze([0.25, 0.5, 1, 2, 4]);

/** Seconds without a word of the service, which sends a ping every few seconds, after which the line counts as dead. */
export const SILENCE = 10;

/** Milliseconds for which what bends a note or ends it waits for company: a hand on five strings bends by the hundred. */
export const GATHERED = 20;

/** What is put behind the seat of a page for that of the instrument that it hears. */
export const INSTRUMENT_SEAT = "-midi";

/** `WebSocket.OPEN`; one that is closing takes nothing more, some time before it says so. */
const OPEN = 1;

/**
 * @typedef {object} WireParts what a wire is made of; tests pass their own
 * @property {string} session the session to join
 * @property {string} seat the page's name for its own input
 * @property {Message} [first] said first, in place of that it joins: of a desk, which has no input
 * @property {() => WebSocket} open makes a socket
 * @property {() => number} now seconds on the page's clock
 * @property {(run: () => void, ms: number) => unknown} later a timer
 * @property {(message: Message) => void} onMessage called for each message of the service, pings and acks aside
 * @property {(up: boolean) => void} onLine called when the connection is there (joined) or lost
 * @property {() => void} [onSignedOut] called when the service let the page go since nobody is signed in on this device
 */

/** A connection that comes back by itself. */
export class Wire {
  /** @param {WireParts} parts */
  constructor(parts) {
    this.parts = parts;
    this.outbox = new Outbox();
    this.instrumentOutbox = new Outbox();
    /** @type {Message | null} the instrument that the page hears, as it was told last; null where it never heard one */
    this.instrument = null;
    this.gathering = false;
    /** @type {WebSocket | null} */
    this.socket = null;
    this.joined = false;
    this.attempts = 0;
    this.lastWord = 0;
  }

  /** Opens the connection, and again whenever it is lost. */
  connect() {
    const socket = this.parts.open();
    this.socket = socket;
    socket.onopen = () => {
      const { session, seat, first = { kind: "join", session, seat } } = this.parts;
      socket.send(JSON.stringify(first));
    };
    socket.onmessage = (event) => this.#take(JSON.parse(event.data));
    socket.onclose = (event) => {
      this.#lost(socket);
      if (event?.reason === "signed out") {
        this.parts.onSignedOut?.();
      }
    };
  }

  /** To be called now and then: gives up a line on which nothing has come for too long. */
  check() {
    if (this.joined && this.parts.now() - this.lastWord > SILENCE) {
      this.drop();
    }
  }

  /** Gives up a connection that the browser knows to be dead; a new one is tried. */
  drop() {
    const socket = this.socket;
    if (socket !== null) {
      this.#lost(socket);
      socket.close();
    }
  }

  /**
   * Sends a message now.
   *
   * @param {Message} message of one of the kinds of a page
   * @returns {boolean} false when there is no connection: nothing was sent
   */
  send(message) {
    if (!FROM_PAGE.includes(message.kind)) {
      throw new TypeError(`a page may not send a message of kind ${JSON.stringify(message.kind)}`);
    }
    if (!this.joined || this.socket === null || this.socket.readyState !== OPEN) {
      return false;
    }
    this.socket.send(JSON.stringify(message));
    return true;
  }

  /**
   * Sends a captured note, now or as soon as the connection is back.
   *
   * @param {number} stamp seconds on the page's clock
   * @param {number[]} data the bytes of a MIDI message
   * @returns {number} its number
   */
  note(stamp, data) {
    const note = this.outbox.add(stamp, data);
    this.#flush();
    return note.seq;
  }

  /**
   * Tells which instrument the page hears itself, now and after each reconnect.
   *
   * @param {string} name empty where there is none (any more)
   * @param {number} stamp when it was seen to come or go, in seconds on the page's clock
   */
  hear(name, stamp) {
    this.instrument = { kind: "input", name, stamp };
    this.send(this.instrument);
  }

  /**
   * Sends a message of that instrument: a note at once, with what came before it, other things a little later together.
   *
   * @param {number} stamp seconds on the page's clock
   * @param {number[]} data the bytes of a MIDI message
   */
  instrumentNote(stamp, data) {
    this.instrumentOutbox.add(stamp, data);
    if (isNoteOn(data)) {
      this.#flush();
    } else if (!this.gathering) {
      this.gathering = true;
      this.parts.later(() => {
        this.gathering = false;
        this.#flush();
      }, GATHERED);
    }
  }

  /**
   * Tells that nothing with an earlier stamp is still to come, of pad and instrument.
   *
   * @param {number} stamp seconds on the page's clock
   */
  watermark(stamp) {
    this.#flush();
    for (const [seat] of this.#inputs()) {
      this.send({ kind: "notes", seat, items: [], watermark: stamp });
    }
  }

  /**
   * The inputs of this page: the pad, and an instrument where one was ever named, since the pass waits for its word also
   * while it is unplugged.
   *
   * @returns {[string, Outbox][]}
   */
  #inputs() {
    /** @type {[string, Outbox][]} */
    const inputs = [[this.parts.seat, this.outbox]];
    if (this.instrument !== null) {
      inputs.push([this.parts.seat + INSTRUMENT_SEAT, this.instrumentOutbox]);
    }
    return inputs;
  }

  /** Sends all that has not gone out yet, if there is a connection. */
  #flush() {
    if (!this.joined || this.socket === null || this.socket.readyState !== OPEN) {
      return;
    }
    for (const [seat, outbox] of this.#inputs()) {
      for (const items of outbox.portions()) {
        this.send({ kind: "notes", seat, items });
      }
    }
  }

  /** @param {Message} message */
  #take(message) {
    const came = this.parts.now();
    this.lastWord = came;
    if (!FROM_SERVICE.includes(message.kind)) {
      return; // a newer service may say more than this page understands
    }
    if (message.kind === "ping") {
      this.send({ kind: "pong", id: message.id, t1: message.t1, t2: came, t3: this.parts.now() });
      return;
    }
    if (message.kind === "ack") {
      for (const [seat, outbox] of this.#inputs()) {
        if (message.seat === seat) {
          outbox.acknowledge(message.seq);
        }
      }
      return;
    }
    if (message.kind === "hello" || message.kind === "desk_hello") {
      this.#meet(message);
    }
    this.parts.onMessage(message);
  }

  /** @param {Message} hello */
  #meet(hello) {
    this.joined = true;
    this.attempts = 0;
    this.outbox.meet(hello.acknowledged ?? 0);
    this.instrumentOutbox.meet(hello.instrument_acknowledged ?? 0);
    if (this.instrument !== null) {
      this.send(this.instrument);
    } else if (hello.instrument) {
      // The page before this one heard it; this one does not, unless it says so itself.
      this.send({ kind: "input", name: "", stamp: null });
    }
    this.#flush();
    this.parts.onLine(true);
  }

  /** @param {WebSocket} socket */
  #lost(socket) {
    if (socket !== this.socket) {
      return; // an older one that was given up already
    }
    this.socket = null;
    this.joined = false;
    this.parts.onLine(false);
    const wait = WAITS[Math.min(this.attempts, WAITS.length - 1)];
    this.attempts += 1;
    this.parts.later(() => this.connect(), wait * 1000);
  }
}

/**
 * Whether a message begins a note.
 *
 * @param {number[]} data
 */
function isNoteOn(data) {
  return (data[0] & 0xf0) === 0x90 && data[2] > 0;
}

/**
 * Opens the page's websocket on the host that served it.
 *
 * @param {Location} place of the page
 * @returns {WebSocket}
 */
export function openSocket(place) {
  const url = new URL("ws", place.href);
  url.protocol = place.protocol === "https:" ? "wss:" : "ws:";
  url.search = "";
  url.hash = "";
  return new WebSocket(url, SUBPROTOCOL);
}
