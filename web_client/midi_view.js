/**
 * The part of the settings where the player lets the browser hear an instrument, and sees why it does not.
 *
 * @module midi_view
 */

import { byId, element } from "./dom.js";
import { TEXT } from "./english.js";

/** @typedef {import("./midi.js").Midi} Midi */

/** A player who is asked, or for whom nothing can be done here, has no button to press. */
const WITHOUT_BUTTON = new Set(["insecure", "unknown", "asking"]);

/** What is seen of the inputs of the browser. */
export class MidiView {
  /**
   * @param {Midi} midi
   * @param {import("./notice.js").Notice} notice
   */
  constructor(midi, notice) {
    this.midi = midi;
    this.notice = notice;
    this.before = midi.name;
    this.unplugged = false;
    this.button = byId("midi-connect");
    this.choice = byId("midi-input");
    this.button.addEventListener("click", () => this.#pressed());
    byId("no-port-midi").addEventListener("click", () => void this.#connect());
    this.choice.addEventListener("change", (/** @type {Event} */ event) => {
      event.stopPropagation(); // it is no setting of the session
      void midi.choose(this.choice.value);
    });
    midi.onChange(() => this.#show());
    this.#show();
  }

  #pressed() {
    if (this.midi.state === "on" && this.midi.busy.size === 0) {
      this.midi.disconnect();
    } else {
      void this.midi.connect();
    }
  }

  /** Hears an instrument; where none is heard then, the settings say why. */
  async #connect() {
    await this.midi.connect();
    if (this.midi.name === "") {
      byId("settings").showModal();
      byId("midi").scrollIntoView({ block: "center" });
    }
  }

  /** Says at the top of the page that the instrument is gone, or back: the settings are closed while it is played. */
  #noteWhatCame() {
    const { name, state } = this.midi;
    if (name === this.before) {
      return;
    }
    if (name === "" && state === "on") {
      this.notice.say(TEXT.midi.lost(this.before));
      this.unplugged = true;
    } else if (name !== "" && this.unplugged) {
      this.notice.say(TEXT.midi.back(name));
      this.unplugged = false;
    }
    this.before = name;
  }

  #show() {
    const { midi } = this;
    this.#noteWhatCame();
    const words = TEXT.midi;
    const on = midi.state === "on";
    this.button.hidden = WITHOUT_BUTTON.has(midi.state);
    this.button.textContent = !on ? words.connect : midi.busy.size > 0 ? words.again : words.disconnect;
    byId("midi-choice").hidden = !on;
    if (on) {
      const { input } = midi.chosen;
      const names = midi.inputs;
      const options = [
        element("option", { value: "" }, words.all),
        ...names.map((name) => element("option", { value: name }, name)),
        ...(input === "" || names.includes(input) ? [] : [element("option", { value: input }, words.gone(input))]),
      ];
      this.choice.replaceChildren(...options);
      this.choice.value = input;
    }
    byId("midi-words").textContent = this.#words();
  }

  #words() {
    const { midi } = this;
    if (midi.state === "failed") {
      return TEXT.midi.failed(midi.fault);
    }
    if (midi.state !== "on") {
      return TEXT.midi[midi.state];
    }
    const heard = midi.name === "" ? [] : [TEXT.midi.heard(midi.name)];
    const busy = midi.busy.size === 0 ? [] : [TEXT.midi.busy([...midi.busy].sort())];
    const told = [...heard, ...busy];
    if (told.length > 0) {
      return told.join(" ");
    }
    return midi.chosen.input === "" ? TEXT.midi.none : TEXT.midi.waiting(midi.chosen.input);
  }
}
