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
   */
  constructor(practice, wire, notice) {
    this.practice = practice;
    this.wire = wire;
    this.notice = notice;
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
        this.wire.send(going ? { kind: "stop" } : { kind: "start", sounds: state?.sound === "page" });
        break;
      case "stop":
        this.wire.send({ kind: "stop" });
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
}
