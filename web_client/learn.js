/**
 * Learning the instrument from notes to the click, and foot switches from a press.
 *
 * @module learn
 */

import { byId, drawn } from "./dom.js";
import { PLOT, plotOf } from "./plot.js";
import { TEXT } from "./english.js";

/** @typedef {import("./messages.js").Calibrated} Calibrated */

/** What belongs to it in the settings. */
export class LearnView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(message: import("./messages.js").Message) => boolean} send false where there is no connection
   * @param {() => void} onPad called when it is the pad that is to be learned
   */
  constructor(practice, send, onPad) {
    this.practice = practice;
    this.send = send;
    this.onPad = onPad;
    this.asked = false;
    this.learning = false;
    this.dialog = byId("settings");
    this.button = byId("learn");
    this.result = byId("learned");
    this.words = byId("foot-learning");
    this.presses = [...this.dialog.querySelectorAll("[data-does]")];
    this.button.addEventListener("click", () => this.#learn());
    for (const press of this.presses) {
      press.addEventListener("click", () => this.#press(press.dataset.does));
    }
    this.dialog.addEventListener("close", () => this.#endWaiting());
    practice.on("state", () => this.#showState());
    practice.on("line", () => this.#showState());
    practice.on("calibrated", (calibrated) => this.#show(calibrated));
    practice.on("foot", (foot) => this.#say(TEXT.foot.pressed(foot.switch, foot.did)));
    practice.on("failure", (failure) => {
      if (failure.about === "foot") {
        this.#say(failure.text);
      }
    });
  }

  /** The settings close, since the pad lies below them, and open again with what was learned. */
  #learn() {
    const { state, ports, hears } = this.practice;
    if (!this.send({ kind: "calibrate", sounds: state?.sound === "page" })) {
      return;
    }
    this.asked = true;
    this.dialog.close();
    if (hears === "" && (ports === null || ports.input === null)) {
      this.onPad();
    }
  }

  /** @param {string} does */
  #press(does) {
    if (this.practice.state?.learning_foot === does) {
      this.#endWaiting();
    } else {
      this.send({ kind: "learn_foot", does });
    }
  }

  /** No press is waited for any more, however the player leaves it. */
  #endWaiting() {
    if (this.practice.state?.learning_foot) {
      this.send({ kind: "learn_foot", does: "" });
      this.#say("");
    }
  }

  /** @param {string} words */
  #say(words) {
    this.words.textContent = words;
  }

  #showState() {
    const { state, up, playing } = this.practice;
    if (state === null) {
      return;
    }
    if (this.learning && !state.learning) {
      this.asked = false; // it was stopped
    }
    this.learning = state.learning;
    this.button.disabled = !up || playing;
    byId("latency-known").textContent = TEXT.learn.known(state);
    for (const press of this.presses) {
      const waiting = state.learning_foot === press.dataset.does;
      press.disabled = !up || playing;
      press.textContent = waiting ? TEXT.foot.end : TEXT.foot.set;
      press.setAttribute("aria-pressed", String(waiting));
    }
    if (state.learning_foot !== "") {
      this.#say(state.foot_words);
    }
  }

  /** @param {Calibrated} calibrated */
  #show(calibrated) {
    this.result.hidden = false;
    this.result.dataset.trusted = String(calibrated.trusted);
    byId("learned-head").textContent = TEXT.learn.head(calibrated);
    byId("learned-words").textContent = calibrated.sentence;
    byId("learned-plot").replaceChildren(picture(calibrated));
    if (this.asked) {
      this.asked = false;
      if (!this.dialog.open) {
        this.dialog.showModal();
      }
      this.result.scrollIntoView({ block: "center" });
    }
  }
}

/**
 * The sixteen offsets as a picture: dots, the click as a full line and what was found as a broken one, and a cross below
 * each click that has no note.
 *
 * @param {Calibrated} calibrated
 * @returns {SVGElement}
 */
function picture(calibrated) {
  const { lines, dots, without, y } = plotOf(calibrated.offsets_ms, calibrated.lag_ms);
  const right = PLOT.width - PLOT.right;
  const across = (/** @type {string} */ name, /** @type {number} */ at) =>
    drawn("line", { class: name, x1: PLOT.left, x2: right, y1: at, y2: at });
  const end = PLOT.height - PLOT.bottom / 2;
  const cross = (/** @type {number} */ x) =>
    drawn("path", { class: "without", d: `M${x - 3} ${end - 3}l6 6m0 -6l-6 6` });
  return drawn(
    "svg",
    {
      viewBox: `0 0 ${PLOT.width} ${PLOT.height}`,
      role: "img",
      "aria-label": TEXT.learn.picture(calibrated),
    },
    ...lines.flatMap((line) => [
      across(line.ms === 0 ? "click" : "scale", line.y),
      drawn("text", { x: PLOT.left - 6, y: line.y + 4, "text-anchor": "end" }, TEXT.learn.scale(line.ms)),
    ]),
    ...(dots.length > 0 ? [across("lag", y(calibrated.lag_ms))] : []),
    ...dots.map((dot) => drawn("circle", { cx: dot.x, cy: dot.y, r: 3.2 })),
    ...without.map((click) => cross(click.x)),
  );
}
