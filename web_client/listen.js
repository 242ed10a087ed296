/**
 * Listening: the solo at any tempo, whole or some measures of it, alone or with what sounds along, and the three tiers
 * one after another. Nothing is listened to while a pass is played.
 *
 * @module listen
 */

import { byId } from "./dom.js";
import { fetchCues, soloTracks } from "./player.js";
import { TEXT } from "./english.js";

/** @typedef {import("./player.js").SoloCues} SoloCues */

/** How loud what sounds along is where it is silent in passes, 0..1: who asks for it here wants to hear it. */
const HALF = 0.5;

/** The slip by which the player listens. */
export class ListenView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./player.js").Player} player
   * @param {import("./place.js").PlaceView} place
   */
  constructor(practice, player, place) {
    this.practice = practice;
    this.player = player;
    this.place = place;
    this.form = byId("listen-form");
    this.words = byId("listen-words");
    /** Counts what was asked for, so that only the last is heard. */
    this.turn = 0;
    /** Whether it is this slip that something was asked for by, and it is not over. */
    this.listening = false;
    /** @type {import("./messages.js").State | null} what the fields were set by */
    this.shown = null;
    this.form.addEventListener("submit", (/** @type {SubmitEvent} */ event) => {
      event.preventDefault();
      void this.#listen(event.submitter?.id === "listen-tiers" ? this.#tiers() : this.#this());
    });
    this.form.addEventListener("change", () => this.#level());
    byId("listen-stop").addEventListener("click", () => this.#stop());
    practice.on("state", () => this.#show());
  }

  /** What the sheet shows. */
  #this() {
    const { state } = this.practice;
    return state === null ? [] : [{ tier: state.mix.length > 0 ? "" : state.tier, digest: state.digest }];
  }

  /** The tier's own solos that are written, the easiest first. */
  #tiers() {
    return Object.entries(this.practice.state?.solos ?? {}).map(([tier, digest]) => ({ tier, digest }));
  }

  #show() {
    const state = /** @type {import("./messages.js").State} */ (this.practice.state);
    const { shown, form } = this;
    const fields = form.elements;
    for (const [name, value] of /** @type {const} */ ([
      ["listen_tempo", state.tempo],
      ["listen_first", state.first],
      ["listen_last", state.last],
    ])) {
      // What the player has set here stays until what is practised becomes another.
      const before = shown?.[/** @type {"tempo" | "first" | "last"} */ (name.slice("listen_".length))];
      if (value !== before && fields[name] !== document.activeElement) {
        fields[name].value = String(Math.round(value * 10) / 10);
      }
    }
    this.shown = state;
    const possible = !this.practice.playing && state.digest !== "";
    byId("listen-this").disabled = !possible;
    byId("listen-tiers").disabled = !possible;
    byId("listen-tiers").hidden = Object.keys(state.solos).length < 2;
    if (this.practice.playing) {
      this.#stop();
    }
    this.#level();
  }

  /**
   * @param {{tier: string, digest: string}[]} solos one after another
   */
  async #listen(solos) {
    this.#stop();
    this.player.stop();
    const { turn } = this;
    const asked = this.player.turn;
    this.#say(TEXT.listen.fetching, true);
    try {
      const cues = await Promise.all(solos.map(({ digest }) => fetchCues(this.#address(digest))));
      const due = this.player.turn === asked ? solos : []; // else something else sounds by now
      for (const [index, { tier, digest }] of due.entries()) {
        if (this.turn !== turn || this.practice.playing || !(await this.#play(cues[index], tier, digest))) {
          break;
        }
      }
      this.#over(turn, "");
    } catch (error) {
      this.#over(turn, TEXT.listen.failed(/** @type {Error} */ (error).message));
    }
  }

  /**
   * @param {SoloCues} cues
   * @param {string} tier
   * @param {string} digest
   */
  async #play(cues, tier, digest) {
    const { positions, length, bounce, lead } = cues;
    const source = { seconds: () => this.player.at, positions, length, bounce, digest };
    this.#say(TEXT.listen.now(tier, cues), true);
    this.place.follow(source);
    const from = this.form.elements.listen_click.checked ? -lead : 0;
    try {
      return await this.player.play({ tracks: soloTracks(cues, this.#gains()), from });
    } finally {
      if (this.place.source === source) {
        this.place.follow(null);
      }
    }
  }

  /** @param {string} digest */
  #address(digest) {
    const { listen_tempo: tempo, listen_first: first, listen_last: last } = this.form.elements;
    const query = new URLSearchParams({ tempo: tempo.value, first: first.value, last: last.value });
    return `arrangements/${digest}.cues.json?${query}&bounce=${this.practice.state?.bounce ?? 50}`;
  }

  #gains() {
    const { listen_backing: backing, listen_click: click } = this.form.elements;
    const { state } = this.practice;
    return {
      solo: 1,
      backing: backing.checked ? state?.backing_level || HALF : 0,
      click: click.checked ? state?.click_level || HALF : 0,
    };
  }

  /** Has what sounds follow what is chosen, at once. */
  #level() {
    if (this.listening) {
      for (const [part, gain] of Object.entries(this.#gains())) {
        this.player.setGain(part, gain);
      }
    }
  }

  #stop() {
    this.turn += 1;
    if (this.listening) {
      this.player.stop();
      this.#say("", false);
    }
  }

  /**
   * @param {number} turn what is over; where something else was asked for meanwhile, that has the word
   * @param {string} words
   */
  #over(turn, words) {
    if (this.turn === turn) {
      this.#say(words, false);
    }
  }

  /**
   * @param {string} words
   * @param {boolean} listening
   */
  #say(words, listening) {
    this.listening = listening;
    this.words.textContent = words;
    const stop = byId("listen-stop");
    if (!listening && document.activeElement === stop) {
      byId("listen-this").focus();
    }
    stop.hidden = !listening;
  }
}
