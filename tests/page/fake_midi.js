/**
 * A small Web MIDI in place of the browser's: inputs that a test plugs and plays, with stamps that the test sets.
 *
 * After the W3C Web MIDI API: `requestMIDIAccess`, `MIDIAccess.inputs` and its `statechange`, `MIDIPort.state`,
 * `connection`, `open()` and `close()`, and messages as events with `data` and `timeStamp` (milliseconds on the page's clock).
 *
 * A test sets `fakeMidi.answer` before the page asks: "yes", "no" (the player refuses) or "broken".
 */
(() => {
  class Input extends EventTarget {
    constructor(access, id, name) {
      super();
      Object.assign(this, { access, id, name, type: "input", state: "connected", connection: "closed", busy: false, onmidimessage: null });
    }

    async open() {
      await null;
      if (this.busy) {
        throw new DOMException("The port is in use.", "InvalidAccessError");
      }
      if (this.connection !== "open") {
        this.connection = "open";
        this.access.tell(this);
      }
      return this;
    }

    async close() {
      await null;
      if (this.connection !== "closed") {
        this.connection = "closed";
        this.access.tell(this);
      }
      return this;
    }
  }

  class Access extends EventTarget {
    constructor() {
      super();
      this.inputs = new Map();
      this.outputs = new Map();
      this.sysexEnabled = false;
      this.onstatechange = null;
    }

    /** A port was plugged, unplugged or opened. */
    tell(port, timeStamp = performance.now()) {
      this.onstatechange?.({ type: "statechange", port, timeStamp });
    }
  }

  const access = new Access();
  const fakeMidi = {
    answer: "yes",
    permission: "prompt",
    asked: [],

    /** Plugs an input in (again); `at` is when, in milliseconds on the page's clock. */
    plug(name, { busy = false, at = undefined } = {}) {
      const known = [...access.inputs.values()].find((input) => input.name === name);
      const input = known ?? new Input(access, String(access.inputs.size + 1), name);
      Object.assign(input, { state: "connected", busy });
      access.inputs.set(input.id, input);
      access.tell(input, at);
    },

    /** Unplugs an input; its port stays known, as browsers have it. */
    unplug(name, { at = undefined } = {}) {
      for (const input of access.inputs.values()) {
        if (input.name === name) {
          Object.assign(input, { state: "disconnected", connection: "closed" });
          access.tell(input, at);
        }
      }
    },

    /** The names of the inputs that are open. */
    opened() {
      return [...access.inputs.values()].filter(({ connection }) => connection === "open").map(({ name }) => name);
    },

    /** Plays messages: [milliseconds on the page's clock, bytes]. Nothing comes from an input that is not open. */
    play(name, messages) {
      for (const input of access.inputs.values()) {
        if (input.name === name && input.state === "connected" && input.connection === "open") {
          for (const [timeStamp, data] of messages) {
            input.onmidimessage?.({ type: "midimessage", data: Uint8Array.from(data), timeStamp });
          }
        }
      }
    },
  };

  Object.defineProperty(window, "fakeMidi", { value: fakeMidi });
  Object.defineProperty(navigator, "requestMIDIAccess", {
    configurable: true,
    value: async (options) => {
      fakeMidi.asked.push(options);
      await null;
      if (fakeMidi.answer === "no") {
        throw new DOMException("Permission was denied.", "NotAllowedError");
      }
      if (fakeMidi.answer === "broken") {
        throw new DOMException("No MIDI system could be reached.", "InvalidStateError");
      }
      fakeMidi.permission = "granted";
      return access;
    },
  });
  const query = navigator.permissions.query.bind(navigator.permissions);
  navigator.permissions.query = async (asked) => (asked.name === "midi" ? { state: fakeMidi.permission } : query(asked));
})();
