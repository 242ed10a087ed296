/**
 * Every word that the page says by itself. What the service says is shown as it comes.
 *
 * @module texts
 */

import { AFTER_TEXT } from "./after_texts.js";
import { BOOK_TEXT } from "./book_texts.js";
import { EDIT_TEXT } from "./edit_texts.js";
import { ENTER_TEXT } from "./enter_texts.js";
import { LADDER_TEXT } from "./ladder_texts.js";
import { LISTEN_TEXT } from "./listen_texts.js";
import { MIDI_TEXT } from "./midi_texts.js";
import { PRINT_TEXT } from "./print_texts.js";
import { measuresByTier, tiersOf } from "./tiers.js";
import { counted, isWhole, jamBeats, measures, number } from "./wording.js";

/** @typedef {import("./messages.js").MeasureScore} MeasureScore */

/** @type {Record<string, [brief: (n: number) => string, full: (n: number) => string]>} */
const LACKS = {
  missed: [(n) => `${n} missed`, (n) => counted(n, "note missed", "notes missed")],
  wrong: [(n) => `${n} wrong`, (n) => counted(n, "wrong note", "wrong notes")],
  extra: [(n) => `${n} extra`, (n) => counted(n, "extra note", "extra notes")],
  off: [(n) => `${n} off time`, (n) => counted(n, "note off time", "notes off time")],
};

export const TEXT = Object.freeze({
  ...AFTER_TEXT,
  ...BOOK_TEXT,
  ...EDIT_TEXT,
  ...LADDER_TEXT,
  ...ENTER_TEXT,
  ...LISTEN_TEXT,

  midi: MIDI_TEXT,

  number,
  print: PRINT_TEXT,

  line: {
    connecting: "Looking for the coach …",
    lost: "The connection is lost. What you play on the pad is kept until it is back.",
    back: "The connection is back.",
    unreachable: "This part of the page could not be fetched; try again when the connection is back.",
    newer: "There is a newer page. It opens as soon as this pass is over.",
  },

  sound: {
    off: "Sound is off until you touch the page once.",
    /** @param {number} seconds by which the pass was moved on the audio clock */
    moved: (seconds) =>
      `The sound goes out another way now, ${Math.round(Math.abs(seconds) * 1000)} ms ${seconds < 0 ? "later" : "sooner"}. ` +
      "The click was put where it was.",
    failed: "The sounds do not play. Touch the page to try again, or choose a MIDI output in the settings.",
  },

  sheet: {
    /** @param {any} arrangement */
    label: (arrangement) =>
      `Tab and melody of ${arrangement.title}, ${arrangement.tier} tier, ${counted(arrangement.measures.length, "measure", "measures")}. ` +
      "The strip above says in words how each measure went.",
    untitled: "Practice",
    writing: "The solo is being written …",
    papers: "This solo to take along:",
    /** Kinds of file, by suffix, and their names. */
    kinds: [
      ["pdf", "paper (.pdf)"],
      ["txt", "tab in letters (.txt)"],
      ["musicxml", "MusicXML"],
      ["mid", "MIDI"],
      ["json", "the arrangement (.json)"],
    ],
    /** @param {string} why */
    failed: (why) => `The sheet cannot be shown: ${why}`,
    /** @param {any} arrangement */
    facts: (arrangement) =>
      [
        arrangement.tier === "mixed" ? LADDER_TEXT.mix.facts(measuresByTier(tiersOf(arrangement))) : arrangement.tier,
        arrangement.capo > 0
          ? `${arrangement.key} position, capo ${arrangement.capo}, sounds in ${arrangement.sounding_key}`
          : arrangement.key,
        `${arrangement.tuning.name} tuning`,
        arrangement.meter,
      ].join(" · "),
  },

  legend: {
    early: "early: a tick before the number, taller the earlier",
    late: "late: a tick after the number, taller the later",
    missed: "missed: a ring round the number",
    "wrong note": "a wrong note: what was played, small and underlined",
    "other string": "the right pitch on another string: its fret, on the line where it was played",
    extra: "an extra note, which is not written: a dot above the staff",
    harmless: "an extra note that fits the chord and does no harm: a hollow dot",
    "on time": "in time: no mark",
  },

  strip: {
    /** @type {Record<string, string>} Short names of the tiers. */
    tiers: { beginner: "beg.", intermediate: "int.", advanced: "adv." },
    /**
     * @param {MeasureScore | null} score
     * @param {{what: string, count: number}[]} lacking
     */
    brief: (score, lacking) => {
      if (score === null) {
        return "";
      }
      if (score.cut) {
        return "stopped";
      }
      if (score.clean) {
        return "✓ clean";
      }
      if (score.played === 0) {
        return "○ silent";
      }
      if (lacking.length === 0) {
        return "not clean";
      }
      const [{ what, count }] = lacking;
      return LACKS[what][0](count);
    },
    /**
     * How many more kinds of fault there were than the brief words tell.
     *
     * @param {MeasureScore | null} score
     * @param {{what: string, count: number}[]} lacking
     */
    more: (score, lacking) =>
      score === null || score.cut || score.clean || score.played === 0 || lacking.length < 2 ? "" : `+${lacking.length - 1}`,
    /**
     * @param {number} measure
     * @param {MeasureScore | null} score
     * @param {{what: string, count: number}[]} lacking
     * @param {string} [tier] of the measure, in a mixed solo
     */
    full: (measure, score, lacking, tier = "") => {
      const name = `Measure ${measure}${tier === "" ? "" : `, ${tier}`}`;
      if (score === null) {
        return `${name}: not played yet`;
      }
      if (score.cut) {
        return `${name}: the pass was stopped here, after ${score.played} of ${score.expected} notes played`;
      }
      const lacked = lacking.map(({ what, count }) => LACKS[what][1](count)).join(", ");
      const pace = typeof score.tempo === "number" ? ` at about ${Math.round(score.tempo)} quarters a minute` : "";
      const head = `${name}: ${score.clean ? "clean" : "not clean"}, ${score.played} of ${score.expected} notes played${pace}`;
      return lacked === "" ? head : `${head}, ${lacked}`;
    },
    /** @param {number} measure */
    loop: (measure) => `Practise measure ${measure} alone`,
  },

  transport: {
    start: "Start",
    stop: "Stop",
    unit: "quarters a minute",
    own: "in your own time",
    jamBeats,
    /** @param {number} beat */
    count: (beat) => (beat > 0 ? `Count-in: ${beat}` : "Count-in"),
    /**
     * @param {number} measure
     * @param {number} last
     */
    measure: (measure, last) => `Measure ${measure} of ${last}`,
    /** @param {import("./messages.js").State} state */
    between: (state) =>
      state.state === "paused"
        ? "Paused"
        : isWhole(state)
          ? `All ${counted(state.measures, "measure", "measures")}`
          : `Only ${measures(state.first, state.last)}`,
  },

  chooser: {
    later: "Changes count from the next pass.",
    notNow: "There is no connection, so nothing was changed. Try again when it is back.",
  },

  pad: {
    /** @param {number} string */
    string: (string) => (string === 5 ? "String 5, the drone" : `String ${string}`),
    /**
     * @param {number} string
     * @param {number} fret
     * @param {string} letter
     */
    place: (string, fret, letter) =>
      `String ${string}, ${fret === 0 ? "open" : `fret ${fret}`}${letter === "" ? "" : `, key ${letter}`}`,
    /**
     * @param {number} string
     * @param {number | null} fret of the shape that is held
     * @param {string} letter
     */
    strip: (string, fret, letter) =>
      `String ${string}, ${fret === null ? "not played" : `${fret === 0 ? "open" : `held at fret ${fret}`}, key ${letter}`}`,
    low: "Frets 0 to 5",
    high: "Frets 6 to 12",
  },

  shapes: {
    open: "Open neck",
    /** @param {string} letter */
    key: (letter) => (letter === "" ? "" : `, key ${letter}`),
    more: "More chords",
    /** @param {string} name */
    forget: (name) => `Forget “${name}”`,
    first: "Touch a place on each string that is to be fretted; the others stay open.",
    /** @param {string} name */
    kept: (name) => `“${name}” is kept on this device.`,
    unnamed: "Give the shape a name, such as “F up the neck”.",
    refused: "This browser keeps nothing, so the shape is here only until the page is closed.",
    failed: "The chord shapes cannot be fetched now; shapes of your own can be held all the same.",
  },

  report: {
    /**
     * @param {import("./messages.js").Report} report
     * @param {boolean} unmarked whether the player is still to mark it
     * @param {boolean} [jam] whether it was a run as in a jam
     */
    head: (report, unmarked, jam = false) => {
      if (report.free) {
        const how = !report.whole ? "not played to its end" : report.clean ? "clean" : "not clean yet";
        return `Pass ${report.number}, without a click: ${how}`;
      }
      if (jam && report.kept_going !== null) {
        return `Pass ${report.number}, as in a jam: ${report.kept_going ? "you kept going" : "you stopped on the way"}`;
      }
      if (!report.whole) {
        return `Pass ${report.number}: not played to its end`;
      }
      if (unmarked) {
        return `Pass ${report.number} is over`;
      }
      const how = report.clean ? "clean" : "not clean yet";
      return `Pass ${report.number}: ${how}${report.self_marked ? " (marked by yourself)" : ""}`;
    },
    take: "The take (.mid)",
    file: "The report (.json)",
    /**
     * @param {import("./messages.js").Report} report
     * @param {{unmarked: boolean, jam: boolean, meter: string}} about whether the player is still to mark it, whether it
     *   was a run as in a jam, and the metre of the tune that comes next
     */
    aloud: (report, { unmarked, jam, meter }) => {
      const { rung, rest } = report;
      const next = rung === null ? [] : [`Next: ${LADDER_TEXT.rung.what(rung, meter)}. ${rung.why}`];
      const care = rest === "" ? [] : [rest];
      return [`${TEXT.report.head(report, unmarked, jam)}.`, ...report.sentences, ...care, ...next].join(" ");
    },
  },

  free: {
    begin: "Play when you like",
    /**
     * @param {number} measure
     * @param {number | null} tempo
     */
    measure: (measure, tempo) => `Measure ${measure}: ${tempo === null ? "too little was heard" : tempo}`,
  },

  settings: {
    noPort: "none",
    /** @param {string} port */
    own: (port) => `${port}: an input of our own, to which another program can be connected`,
  },

  learn: {
    /** @param {import("./messages.js").State} state */
    known: (state) => {
      const strings = Object.entries(state.latency_by_string).map(([string, ms]) => `string ${string} by ${number(ms)} ms`);
      const by = strings.length > 0 ? ` (${strings.join(", ")})` : "";
      return state.is_learned ? `Learned from your playing${by}.` : "";
    },
    /** @param {import("./messages.js").Calibrated} calibrated */
    head: (calibrated) =>
      calibrated.trusted ? `✓ Learned: ${calibrated.instrument}` : `Not learned: ${calibrated.instrument}`,
    /**
     * @param {import("./messages.js").Begin} begin
     * @param {number} seconds from position 0
     */
    note: (begin, seconds) => {
      const clicks = Math.round((begin.length * begin.tempo) / 60);
      const note = Math.min(clicks, Math.floor((seconds * begin.tempo) / 60) + 1);
      return `Learning: note ${note} of ${clicks}, string ${((note - 1) % 5) + 1}`;
    },
    /** @param {import("./messages.js").Calibrated} calibrated */
    picture: (calibrated) =>
      `How late each note came, in milliseconds: ${calibrated.offsets_ms
        .map((offset) => (offset === null ? "none" : String(Math.round(offset))))
        .join(", ")}.`,
    /** @param {number} ms */
    scale: (ms) => (ms === 0 ? "click" : `${ms > 0 ? "+" : "−"}${Math.abs(ms)} ms`),
  },

  foot: {
    set: "Set by pressing",
    end: "Stop waiting",
    /**
     * @param {string} switch_
     * @param {string} did
     */
    pressed: (switch_, did) => `Foot switch ${switch_}: ${did}.`,
  },
});
