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

/** `WebSocket.OPEN`; one that is closing takes nothing more, some time before it says so. */
const OPEN = 1;

/**
 * @typedef {object} WireParts what a wire is made of; tests pass their own
 * @property {string} session the session to join
 * @property {string} seat the page's name for its own input
 * @property {() => WebSocket} open makes a socket
 * @property {() => number} now seconds on the page's clock
 * @property {(run: () => void, ms: number) => unknown} later a timer
 * @property {(message: Message) => void} onMessage called for each message of the service, pings and acks aside
 * @property {(up: boolean) => void} onLine called when the connection is there (joined) or lost
 */

/** A connection that comes back by itself. */
export class Wire {
  /** @param {WireParts} parts */
  constructor(parts) {
    this.parts = parts;
    this.outbox = new Outbox();
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
      socket.send(JSON.stringify({ kind: "join", session: this.parts.session, seat: this.parts.seat }));
    };
    socket.onmessage = (event) => this.#take(JSON.parse(event.data));
    socket.onclose = () => this.#lost(socket);
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
    this.send({ kind: "notes", seat: this.parts.seat, items: [note] });
    return note.seq;
  }

  /**
   * Tells that no note with an earlier stamp is still to come.
   *
   * @param {number} stamp seconds on the page's clock
   */
  watermark(stamp) {
    this.send({ kind: "notes", seat: this.parts.seat, items: [], watermark: stamp });
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
      if (message.seat === this.parts.seat) {
        this.outbox.acknowledge(message.seq);
      }
      return;
    }
    if (message.kind === "hello") {
      this.#meet(message.acknowledged);
    }
    this.parts.onMessage(message);
  }

  /** @param {number} acknowledged */
  #meet(acknowledged) {
    this.joined = true;
    this.attempts = 0;
    this.outbox.meet(acknowledged);
    for (const items of this.outbox.portions()) {
      this.send({ kind: "notes", seat: this.parts.seat, items });
    }
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
