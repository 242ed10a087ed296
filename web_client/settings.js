/**
 * The settings: instrument, foot switch, sound, how strictly is heard, and marking one's own passes.
 *
 * What belongs to the session is sent to the service; loudness and the sound of the pad belong to this page.
 *
 * @module settings
 */

import { byId, element } from "./dom.js";
import { FIRST_LOUDNESS } from "./sound.js";
import { TEXT } from "./english.js";

const KEPT = "page-settings";

/**
 * What this page keeps for itself.
 *
 * @returns {{loudness: number, padSounds: boolean}}
 */
export function ownSettings() {
  const first = { loudness: FIRST_LOUDNESS, padSounds: true };
  try {
    return { ...first, ...JSON.parse(localStorage.getItem(KEPT) ?? "{}") };
  } catch {
    return first; // storage is refused, or holds what was not written here
  }
}

/** The dialog. Every change is sent at once. */
export class SettingsView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(settings: Record<string, any>) => void} send
   * @param {(own: {loudness: number, padSounds: boolean}) => void} onOwn called when what belongs to this page changes
   */
  constructor(practice, send, onOwn) {
    this.practice = practice;
    this.send = send;
    this.onOwn = onOwn;
    this.own = ownSettings();
    this.dialog = byId("settings");
    this.form = byId("settings-form");
    this.form.elements.loudness.value = String(this.own.loudness);
    this.form.elements.padSounds.checked = this.own.padSounds;
    this.form.addEventListener("change", (/** @type {Event} */ event) => this.#changed(/** @type {any} */ (event.target)));
    byId("open-settings").addEventListener("click", () => this.dialog.showModal());
    practice.on("state", () => this.#showState());
    practice.on("ports", () => this.#showPorts());
  }

  /** @param {HTMLInputElement} field */
  #changed(field) {
    const { name } = field;
    if (name === "loudness" || name === "padSounds") {
      this.own = { ...this.own, [name]: name === "loudness" ? Number(field.value) : field.checked };
      try {
        localStorage.setItem(KEPT, JSON.stringify(this.own));
      } catch {
        // storage is refused: the setting holds until the page is closed
      }
      this.onOwn(this.own);
      return;
    }
    if (field.type === "checkbox") {
      this.send({ [name]: field.checked });
    } else if (field.type === "number" || field.type === "range") {
      if (!field.validity.valid || field.value === "") {
        field.reportValidity();
        return;
      }
      this.send({ [name]: Number(field.value) });
    } else {
      this.send({ [name]: field.value });
    }
  }

  #showState() {
    const state = /** @type {any} */ (this.practice.state);
    for (const field of this.form.elements) {
      if (!(field.name in state) || field === document.activeElement) {
        continue;
      }
      if (field.type === "checkbox") {
        field.checked = state[field.name];
      } else {
        field.value = state[field.name] === null ? "" : String(state[field.name]);
      }
    }
    byId("fixed-steps").hidden = state.policy !== "steps";
  }

  #showPorts() {
    const ports = this.practice.ports;
    if (ports === null) {
      return;
    }
    for (const [name, names, open] of /** @type {const} */ ([
      ["midi_in", ports.inputs, ports.input],
      ["midi_foot", ports.inputs, ports.foot],
      ["midi_out", ports.outputs, ports.output],
    ])) {
      const select = this.form.elements[name];
      select.replaceChildren(
        element("option", { value: "" }, TEXT.settings.noPort),
        ...names.map((port) => element("option", { value: port }, port === ports.own ? TEXT.settings.own(port) : port)),
      );
      select.value = open ?? "";
    }
    byId("ports-missing").textContent = ports.missing;
  }
}
