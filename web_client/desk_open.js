/**
 * One student looked on: their sheet with its marks as they see it, what they play, and what can be done for them.
 *
 * @module desk_open
 */

import { piecesOf } from "./after_links.js";
import { ask } from "./asked.js";
import { DESK } from "./desk_english.js";
import { HearView } from "./desk_hear.js";
import { PinsView } from "./desk_pins.js";
import { SteerView } from "./desk_steer.js";
import { byId, element } from "./dom.js";
import { TEXT } from "./english.js";
import { showLegend } from "./legend.js";
import { Pencilled } from "./pencilled.js";
import { PlaceView } from "./place.js";
import { NARROW, Sheet } from "./sheet.js";
import { Practice } from "./state.js";
import { Strip } from "./strip.js";
import { drawSlips } from "./studio_signs.js";
import { tiersOf } from "./tiers.js";

/** @typedef {import("./desk_cards.js").Card} Card */
/** @typedef {import("./messages.js").Message} Message */

/** The practice of somebody else, which can be another's the next moment. */
class Looked extends Practice {
  /** Knows nothing any more. */
  leave() {
    this.state = this.begin = this.report = this.place = null;
    this.unmarked = 0;
    this.scores.clear();
    this.marked.clear();
  }
}

/** The open student. */
export class OpenView {
  /**
   * @param {import("./sound.js").Sound} sound
   * @param {{send: (message: Message) => boolean, say: (words: string) => void}} on
   */
  constructor(sound, on) {
    this.on = on;
    this.practice = new Looked();
    this.student = "";
    this.name = "";
    /** @type {Card | null} */
    this.card = null;
    this.digest = "";
    this.measure = 0;
    this.followed = -1;
    this.narrow = matchMedia(NARROW);
    this.narrow.addEventListener("change", () => void this.#load());
    this.sheet = new Sheet(byId("open-sheet"), () => 0);
    this.strip = new Strip(byId("open-strip"), (measure) => this.choose(measure));
    this.sheet.onTap(({ measure }) => this.#chosen(measure));
    this.pencilled = new Pencilled(this.practice, this.sheet, this.strip);
    this.place = new PlaceView(this.practice, this.sheet, this.strip, {
      say: (words) => {
        this.#say(words);
        this.#follow();
      },
    });
    this.hear = new HearView(this.practice, sound);
    this.hear.onBehind = () => this.#place();
    this.steer = new SteerView(this.practice, (fields) => this.#steer(fields));
    this.pins = new PinsView({
      choose: (measure) => this.choose(measure),
      show: (pins) => drawSlips(this.sheet.svg, pins),
      say: (words) => (byId("pin-said").textContent = words),
    });
    byId("lick").addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      void this.#keepLick();
    });
    byId("ask-loop").addEventListener("click", () => this.#steer({ first: this.measure, last: this.measure }));
    showLegend(byId("open-legend"));
    this.practice.on("state", (state) => this.#showState(state));
    this.practice.on("begin", ({ begin, again }) => this.#begin(begin, again));
    this.practice.on("measure", () => this.#sayMeasure());
    this.practice.on("report", () => {
      this.#showReport();
      this.#sayMeasure();
    });
  }

  /**
   * Looks on a student; the one before is left.
   *
   * @param {string} student id; empty for nobody
   */
  look(student) {
    if (student !== this.student) {
      this.#leave();
      this.student = student;
      this.on.send({ kind: "look_on", student });
      byId("open-week").href = `week.html?student=${student}`;
      byId("open-set").href = `#set=${student}`;
    }
  }

  /** The line is there, anew perhaps: the service is to know who is looked on. */
  joined() {
    if (this.student !== "") {
      this.on.send({ kind: "look_on", student: this.student });
    }
  }

  /** @param {Card} card of the student who is looked on */
  know(card) {
    const first = this.card === null;
    this.card = card;
    this.name = this.hear.name = card.name;
    byId("open-head").textContent = card.name;
    byId("open-sign").textContent = card.here ? DESK.open.sign(card.name) : DESK.open.signAway(card.name);
    byId("view-open").classList.toggle("away", !card.here);
    if (!card.here) {
      this.hear.end();
    }
    if (this.practice.state === null) {
      byId("open-facts").textContent = card.tune === "" ? "" : DESK.open.facts(card);
      if (first) {
        this.sheet.say(card.here ? DESK.open.waiting : DESK.open.away);
      }
      void this.pins.of(card.student, card.tune);
    }
  }

  /**
   * @param {Message} message as the student's page was sent it
   */
  live(message) {
    this.practice.take(message);
  }

  /** @param {{answer: string}} told what came of an offer */
  steered({ answer }) {
    this.steer.say(DESK.steer.came[answer]?.(this.name) ?? "");
  }

  /**
   * Chooses a measure, and brings it into view.
   *
   * @param {number} measure
   */
  choose(measure) {
    this.#chosen(measure);
    this.sheet.reveal(measure);
  }

  #leave() {
    this.hear.end();
    this.practice.leave();
    this.place.follow(null);
    this.steer.clear();
    [this.digest, this.card, this.measure] = ["", null, 0];
    this.sheet.clear();
    this.sheet.say(DESK.open.waiting);
    this.strip.show([], new Map());
    void this.pins.of("", "");
    for (const id of ["open-head", "open-facts", "open-sign", "open-place"]) {
      byId(id).textContent = "";
    }
    byId("open-choice").hidden = byId("open-report").hidden = true;
  }

  /** @param {import("./messages.js").State} state */
  #showState(state) {
    byId("open-facts").textContent = DESK.open.facts(/** @type {any} */ (state));
    if (state.digest !== this.digest || state.digest === "") {
      this.digest = state.digest;
      void this.#load();
      void this.pins.of(this.student, state.tune);
    }
    this.#showReport();
    if (!this.practice.playing) {
      const { report, unmarked, jam } = this.practice;
      const before = report === null ? DESK.open.between : TEXT.report.head(report, unmarked !== 0, jam);
      this.#say(state.free_time ? DESK.open.free : before);
    }
  }

  async #load() {
    const { digest } = this;
    if (digest === "") {
      this.sheet.say(this.practice.state?.waiting || DESK.open.unwritten);
      this.strip.show([], new Map());
      byId("open-choice").hidden = true;
      return;
    }
    try {
      const arrangement = await this.sheet.load(digest, this.narrow.matches ? "narrow" : "wide");
      if (arrangement !== null) {
        this.practice.read(arrangement.meter);
        this.strip.show(arrangement.measures.map((/** @type {any} */ measure) => measure.number), tiersOf(arrangement));
        this.pencilled.renew();
        this.#sayMeasure();
        drawSlips(this.sheet.svg, this.pins.pins);
      }
    } catch (error) {
      if (digest === this.digest) {
        this.digest = ""; // the next word of it tries again
        this.sheet.say(DESK.open.failed(/** @type {Error} */ (error).message));
      }
    }
  }

  /**
   * @param {import("./messages.js").Begin} begin
   * @param {boolean} again
   */
  #begin(begin, again) {
    if (!again && !begin.learning) {
      this.pencilled.clear();
      this.#sayMeasure();
      byId("open-report").hidden = true;
    }
    this.place.byHand = again && this.place.byHand;
    this.#place();
    this.place.show();
  }

  /** The place that is shown is the one that sounds here, where one listens. */
  #place() {
    const origin = this.practice.begin?.origin ?? null;
    this.place.origin = origin === null ? null : origin + this.hear.behind;
  }

  /** @param {string} words where the pass is */
  #say(words) {
    const { state, begin, place, playing } = this.practice;
    const own = place === null ? 0 : Math.round(place.tempo);
    const tempo = playing ? (begin?.free ? own : (begin?.tempo ?? 0)) : state?.free_time ? 0 : (state?.tempo ?? 0);
    const said = DESK.open.place(tempo, words);
    if (byId("open-place").textContent !== said) {
      byId("open-place").textContent = said;
    }
  }

  /** Brings the measure that sounds into view, unless the teacher has scrolled in this pass, or writes. */
  #follow() {
    const { sounding, stand } = this.sheet;
    if (sounding !== this.followed) {
      this.followed = sounding;
      const writes = document.activeElement?.matches("textarea, input, select") === true;
      if (sounding >= 0 && !this.place.byHand && !writes) {
        stand.follow(sounding);
      }
    }
  }

  #showReport() {
    const { report, playing, unmarked, jam } = this.practice;
    byId("open-report").hidden = report === null || playing;
    if (report === null || playing) {
      return;
    }
    byId("open-report-head").textContent = TEXT.report.head(report, unmarked !== 0, jam);
    const known = new Set(this.strip.cells.keys());
    const sentences = report.sentences.map((sentence) => {
      const pieces = piecesOf(sentence, known).map((piece) => {
        if (typeof piece === "string") {
          return piece;
        }
        const link = element("button", { type: "button", className: "link" }, piece.words);
        link.addEventListener("click", () => this.choose(piece.measure));
        return link;
      });
      return element("p", {}, ...pieces);
    });
    byId("open-sentences").replaceChildren(...sentences);
    const take = report.take === "" ? [] : [element("a", { href: report.take, download: "" }, DESK.open.take)];
    byId("open-files").replaceChildren(...take);
  }

  /** @param {number} measure that was touched */
  #chosen(measure) {
    this.measure = this.pins.measure = measure;
    byId("lick-words").textContent = byId("pin-said").textContent = "";
    byId("open-choice").hidden = false;
    this.#sayMeasure();
    byId("ask-loop").textContent = DESK.open.loop(measure);
  }

  /** Says how the measure that is chosen went, as far as it is known. */
  #sayMeasure() {
    byId("open-choice-words").textContent = this.strip.words(this.measure);
  }

  /** Makes the chosen measure a lick of the studio. */
  async #keepLick() {
    const { elements } = byId("lick");
    const name = elements.name.value.trim();
    const { digest, measure } = this;
    try {
      await ask("licks", { digest, measure, measures: elements.two.checked ? 2 : 1, name, use: elements.use.value });
      byId("lick").reset();
      byId("lick-words").textContent = DESK.tunes.lickKept(name);
    } catch (error) {
      byId("lick-words").textContent = /** @type {Error} */ (error).message;
    }
  }

  /** @param {Record<string, any>} fields */
  #steer(fields) {
    const sent = this.on.send({ kind: "steer", student: this.student, ...fields });
    if (!sent) {
      this.steer.say(DESK.steer.away);
    }
    return sent;
  }
}

