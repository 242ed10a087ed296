/**
 * What the player asks for: the transport's actions, changes of the settings, and other messages.
 *
 * @module actions
 */

import { byId } from "./dom.js";
import { TEXT } from "./english.js";

/** @typedef {import("./messages.js").Message} Message */

/** Sends what the player asks for, where it can be done now. */
export class Actions {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./wire.js").Wire} wire
   * @param {import("./notice.js").Notice} notice
   * @param {import("./sound.js").Sound} sound
   */
  constructor(practice, wire, notice, sound) {
    this.practice = practice;
    this.wire = wire;
    this.notice = notice;
    this.sound = sound;
    /** Whether the player has stopped a pass of which the service does not know yet. */
    this.untold = false;
    practice.on("line", (up) => {
      if (up && this.untold) {
        this.untold = false;
        wire.send({ kind: "stop" });
      }
    });
  }

  /**
   * @param {Message} message
   * @returns {boolean} false where there is no connection
   */
  ask(message) {
    this.notice.heed();
    return this.wire.send(message);
  }

  /** @param {Record<string, any>} settings */
  change(settings) {
    if (!this.ask({ kind: "settings", ...settings })) {
      byId("waiting").textContent = TEXT.chooser.notNow;
    }
  }

  /** @param {import("./transport.js").Action} action */
  act(action) {
    this.notice.heed();
    const { going, state } = this.practice;
    switch (action) {
      case "toggle":
        if (going) {
          this.#stop();
        } else {
          this.wire.send({ kind: "start", sounds: state?.sound === "page" });
        }
        break;
      case "stop":
        this.#stop();
        break;
      case "again":
        if (!byId("again").disabled) {
          this.wire.send({ kind: "again" });
        }
        break;
      case "next":
        if (!byId("next").disabled) {
          this.wire.send({ kind: "next_rung" });
        }
        break;
      case "clean":
      case "unclean":
        if (!byId("self-mark").hidden) {
          this.wire.send({ kind: "mark", clean: action === "clean" });
        }
        break;
    }
  }

  /** Stops the pass; where the line is down the page falls silent, and the service is told when it is back. */
  #stop() {
    if (!this.wire.send({ kind: "stop" }) && this.practice.playing) {
      this.untold = true;
      this.sound.stop();
      this.notice.say(TEXT.line.stopped);
    }
  }
}
