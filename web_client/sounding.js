/**
 * A pass sounds here: its cues, when the service begins one, and silence when it is over.
 *
 * @module sounding
 */

import { byId } from "./dom.js";
import { TEXT } from "./english.js";

/** The sliders of the settings, and which part each is of. */
const SLIDERS = new Map([["click_level", "click"], ["backing_level", "backing"], ["solo_level", "solo"]]);

/** Has the loudspeaker do what the passes ask for. */
export class Sounding {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./sound.js").Sound} sound
   * @param {import("./player.js").Player} player
   * @param {import("./wire.js").Wire} wire
   * @param {import("./notice.js").Notice} notice
   * @param {import("./place.js").PlaceView} place
   */
  constructor(practice, sound, player, wire, notice, place) {
    this.practice = practice;
    this.sound = sound;
    this.player = player;
    this.wire = wire;
    this.notice = notice;
    this.place = place;
    /** @type {Record<string, number>} how loud each part is by what is chosen */
    this.levels = {};
    sound.onJump = (sooner) => notice.say(TEXT.sound.moved(sooner));
    practice.on("state", (state) => {
      this.#level(state.levels);
      if (!practice.playing) {
        sound.stop();
        if (notice.words === TEXT.sound.off) {
          notice.say("");
        }
      } else {
        player.stop(); // nothing else sounds while a pass is played
      }
    });
    byId("settings-form").addEventListener("input", (/** @type {any} */ { target }) => {
      const part = SLIDERS.get(target.name);
      if (part !== undefined) {
        sound.setLevels({ [part]: Number(target.value) });
      } else if (target.name === "loudness") {
        sound.setLoudness(Number(target.value));
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
    if (!begin.sounds) {
      return;
    }
    if (this.sound.playing === begin.number) {
      this.#tell(begin, this.place.origin); // the first word of it may have been lost with the connection
      return;
    }
    if (navigator.userActivation?.hasBeenActive === false) {
      this.notice.say(TEXT.sound.off);
    }
    const heard = await this.sound.play(begin);
    if (heard !== null) {
      if (this.notice.words === TEXT.sound.off) {
        this.notice.say("");
      }
      this.place.origin = heard;
      this.#tell(begin, heard);
    }
  }

  /**
   * Tells the service where position 0 is heard, where it does not know yet.
   *
   * @param {import("./messages.js").Begin} begin
   * @param {number | null} heard seconds on the page's clock; null where that is not known here either
   */
  #tell(begin, heard) {
    if (begin.origin === null && heard !== null) {
      this.wire.send({ kind: "sounding", number: begin.number, origin: heard });
    }
  }

  /**
   * Follows the levels that are chosen while a pass sounds; it began with those of its `begin`.
   *
   * @param {Record<string, number>} levels
   */
  #level(levels) {
    const before = this.levels;
    this.levels = levels;
    for (const [part, level] of Object.entries(levels)) {
      if (level !== before[part]) {
        this.sound.setLevels({ [part]: level });
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
