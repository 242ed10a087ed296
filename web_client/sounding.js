/**
 * A pass sounds here: its cues, when the service begins one, and silence when it is over.
 *
 * @module sounding
 */

import { TEXT } from "./texts.js";

/** Has the loudspeaker do what the passes ask for. */
export class Sounding {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./sound.js").Sound} sound
   * @param {import("./wire.js").Wire} wire
   * @param {import("./notice.js").Notice} notice
   * @param {import("./place.js").PlaceView} place
   */
  constructor(practice, sound, wire, notice, place) {
    this.sound = sound;
    this.wire = wire;
    this.notice = notice;
    this.place = place;
    practice.on("state", () => {
      if (!practice.playing) {
        sound.stop();
        if (notice.words === TEXT.sound.off) {
          notice.say("");
        }
      }
    });
    for (const touch of /** @type {const} */ (["pointerdown", "keydown"])) {
      document.addEventListener(touch, () => void this.#turnOn(), { capture: true });
    }
  }

  /**
   * A pass begins, or is told once more.
   *
   * @param {import("./messages.js").Begin} begin
   * @param {boolean} again
   */
  async begin(begin, again) {
    if (!again) {
      this.notice.say("");
      this.place.origin = null;
    }
    this.place.origin = begin.origin ?? this.place.origin;
    this.place.show();
    if (!begin.sounds || this.sound.playing === begin.number) {
      return;
    }
    if (navigator.userActivation?.hasBeenActive === false) {
      this.notice.say(TEXT.sound.off);
    }
    const heard = await this.sound.play(begin);
    if (heard !== null) {
      this.notice.say("");
      this.place.origin = heard;
      if (begin.origin === null) {
        this.wire.send({ kind: "sounding", number: begin.number, origin: heard });
      }
    }
  }

  async #turnOn() {
    try {
      await this.sound.turnOn();
    } catch {
      this.notice.say(TEXT.sound.failed);
    }
  }
}
