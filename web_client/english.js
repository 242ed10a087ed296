/**
 * Every English word that the pages' scripts say by themselves. What the service says is shown as it comes, and the words
 * that never change stand in the pages. Another language is another file like this one.
 *
 * Pure: no document.
 *
 * @module english
 */

import { LETTERS, playedWords } from "./marks.js";
import { counted as placed } from "./moments.js";
import { partsOf } from "./progress_days.js";
import { measuresByTier, tierAfter, tiersOf } from "./tiers.js";

/** @typedef {import("./moments.js").Moment} Moment */
/** @typedef {import("./roll_plot.js").Position} Position */
/** @typedef {import("./edit_measure.js").Pluck} Pluck */
/** @typedef {import("./edit_measure.js").Measure} Measure */
/** @typedef {import("./messages.js").Rung} Rung */
/** @typedef {import("./messages.js").State} State */
/** @typedef {import("./messages.js").MeasureScore} MeasureScore */

// ----------------------------------------------------------------------- how numbers, measures and tempos are said

/**
 * @param {number} count
 * @param {string} one
 * @param {string} many
 */
export function counted(count, one, many) {
  return `${count} ${count === 1 ? one : many}`;
}

/** @param {number} value */
export function number(value) {
  return String(Math.round(value * 10) / 10);
}

/**
 * @param {number} first
 * @param {number} last
 */
export function measures(first, last) {
  return first === last ? `measure ${first}` : `measures ${first} to ${last}`;
}

/**
 * Whether all measures of a solo are played.
 *
 * @param {{first: number, last: number, measures: number}} state
 */
export function isWhole({ first, last, measures: all }) {
  return last - first + 1 >= all;
}

/**
 * Numbers that follow one another, taken together.
 *
 * @param {number[]} numbers in any order
 * @returns {[first: number, last: number][]} in order
 */
export function runs(numbers) {
  /** @type {[number, number][]} */
  const found = [];
  for (const one of [...numbers].sort((a, b) => a - b)) {
    const last = found.at(-1);
    if (last !== undefined && one <= last[1] + 1) {
      last[1] = one;
    } else {
      found.push([one, one]);
    }
  }
  return found;
}

/**
 * @param {number[]} numbers at least one
 * @returns {string} "measures 2, 5 to 6 and 8"
 */
export function measureList(numbers) {
  const parts = runs(numbers).map(([first, last]) => (first === last ? String(first) : `${first} to ${last}`));
  const [before, end] = [parts.slice(0, -1).join(", "), parts[parts.length - 1]];
  return `${numbers.length === 1 ? "measure" : "measures"} ${before === "" ? end : `${before} and ${end}`}`;
}

/**
 * A tempo in the beats that a jam counts: halves in duple and quadruple metres, dotted quarters in compound ones.
 *
 * @param {number} quarters a minute
 * @param {string} meter as in the arrangement, "4/4"
 * @returns {string} empty where a jam counts quarters too
 */
export function jamBeats(quarters, meter) {
  const [count, unit] = meter.split("/").map(Number);
  if (count % 3 === 0 && count > 3 && unit >= 8) {
    return `${number((quarters * unit) / 12)} dotted ${unit === 8 ? "quarters" : "eighths"}`;
  }
  return count % 2 === 0 || unit === 2 ? `${number(quarters / 2)} halves` : "";
}

/**
 * A tempo of the ladder, which counts in whole quarters a minute, as its sentences do.
 *
 * @param {number} quarters a minute
 * @param {string} meter
 */
export function tempo(quarters, meter) {
  const whole = Math.round(quarters);
  const beats = jamBeats(whole, meter);
  return `${whole} quarters a minute${beats === "" ? "" : ` (${beats})`}`;
}

// -------------------------------------------------------------------------------------------- the page of progress

const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");

/** @type {Record<string, string>} */
const KINDS = {
  whole: "the whole",
  part: "some measures",
  spot: "a trouble spot",
  "warm-up": "warm-up",
  known: "something known",
  jam: "jam run",
};

/** @type {Record<import("./progress_days.js").Unit, string>} */
const EACH = { day: "a day", week: "a week", month: "a month" };

/** @param {number} day */
function date(day) {
  const { month, day: of } = partsOf(day);
  return `${of} ${MONTHS[month - 1]}`;
}

/** @param {number} tempo */
function rounded(tempo) {
  return String(Math.round(tempo));
}

/** @param {number} minutes */
function minutes(minutes) {
  const whole = minutes > 0 ? Math.max(1, Math.round(minutes)) : 0;
  const left = whole % 60;
  return whole < 100 ? `${whole} min` : `${Math.floor(whole / 60)} h${left === 0 ? "" : ` ${left} min`}`;
}

/**
 * @param {string[]} names at least one
 */
function listed(names) {
  return names.length === 1 ? names[0] : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`;
}

/**
 * @param {number} day
 * @param {number} today
 * @returns {string} with its year, where that is another one
 */
function dateAnyYear(day, today) {
  const { year } = partsOf(day);
  return year === partsOf(today).year ? date(day) : `${date(day)} ${year}`;
}

export const WORDS = Object.freeze({
  date,
  dateAnyYear,
  tempo: rounded,
  goal: (/** @type {number} */ goal) => `goal ${rounded(goal)}`,
  each: (/** @type {import("./progress_days.js").Unit} */ unit) => EACH[unit],

  /**
   * The month of a day, and in January the year.
   *
   * @param {number} day
   */
  month: (day) => {
    const { year, month } = partsOf(day);
    return month === 1 ? String(year) : MONTHS[month - 1];
  },

  /** @param {string} tier */
  tier: (tier) => tier[0].toUpperCase() + tier.slice(1),

  /**
   * @param {import("./progress_days.js").Unit} unit
   * @param {import("./progress_days.js").Stretch} stretch
   * @param {number} today
   */
  stretch: (unit, { first }, today) =>
    unit === "day"
      ? dateAnyYear(first, today)
      : unit === "week"
        ? `week of ${dateAnyYear(first, today)}`
        : `${MONTHS[partsOf(first).month - 1]} ${partsOf(first).year}`,

  page: {
    /** @param {string} title */
    title: (title) => (title === "" ? "Progress" : `Progress: ${title}`),
    tier: "Tier",
    loading: "Looking it up …",
    unplayed: "This tune has not been played yet. Choose another.",
    nothing: "Nothing has been played yet. After the first pass it is seen here.",
    away: "The coach does not answer. What is shown may be old; load the page again when it runs.",
    /** @param {string} name */
    asTable: (name) => `${name}, as a table`,
  },

  glance: {
    head: (/** @type {string} */ title) => `${title} at a glance`,
    /**
     * @param {string} tier
     * @param {{tempo: number, day: number} | null} best the fastest whole pass that was clean
     * @param {number} today
     * @param {number | null} goal
     */
    best: (tier, best, today, goal) => {
      const aim = goal === null ? "" : ` The goal is ${rounded(goal)}.`;
      return best === null
        ? `No whole pass of the ${tier} tier was clean yet.${aim}`
        : `The fastest clean pass of the ${tier} tier: ${rounded(best.tempo)}, on ${dateAnyYear(best.day, today)}.${aim}`;
    },
    /**
     * @param {number} there measures that are ready at the goal
     * @param {number} all
     */
    reached: (there, all) =>
      all === 1
        ? `The measure that was heard is ${there === 1 ? "" : "not yet "}ready at the goal.`
        : there === all
          ? `All ${all} measures that were heard are ready at the goal.`
          : `Ready at the goal: ${there === 0 ? "none" : there} of the ${all} measures that were heard.`,
    /** @param {import("./progress_picture.js").ReadyLine[]} slow one or two */
    slow: (slow) =>
      `Slowest: ${listed(slow.map(({ measure, tempo: ready }) => `measure ${measure} (ready at ${rounded(ready)})`))}.`,
    /**
     * @param {number} played minutes of the last seven days
     * @param {number} days on which something was played
     * @param {number} before minutes of the seven days before
     */
    week: (played, days, before) =>
      `The last seven days: ${played === 0 ? "nothing" : `${minutes(played)} on ${counted(days, "day", "days")}`}. The seven before: ${before === 0 ? "nothing" : minutes(before)}.`,
  },

  tunes: {
    head: ["Tune", "Minutes", "Passes", "Last played"],
  },

  climb: {
    name: "The climb",
    desc: (/** @type {string} */ each) =>
      `Tempo of whole passes, in quarters a minute: the fastest clean one of ${each} in each tier.`,
    none: "No whole pass of this tune in this time.",
    clean: "filled: the fastest clean one",
    tried: "hollow: the slowest, where none was clean",
    range: "slowest to fastest",
    goal: "goal",
    head: ["When", "Tier", "Slowest", "Fastest", "Fastest clean", "Whole passes"],
    /** @param {{when: string, tier: string, low: number, high: number, clean: number | null, passes: number}} facts */
    told: ({ when, tier, low, high, clean, passes }) =>
      `${when}, ${tier}: ${counted(passes, "whole pass", "whole passes")} at ${
        rounded(low) === rounded(high) ? rounded(low) : `${rounded(low)} to ${rounded(high)}`
      }, ${clean === null ? "none clean" : `fastest clean ${rounded(clean)}`}`,
  },

  grid: {
    name: "Measures, pass by pass",
    none: "No pass of this tune yet.",
    /**
     * @param {number} shown
     * @param {number} there
     */
    desc: (shown, there) =>
      `A column for each pass, the newest on the right (${shown < there ? `the last ${shown} of ${there}` : `${shown} in all`}). Above, its tempo and tier, filled where the pass was clean. Empty: not played, or a pass that is not told by measures (a jam run, or one that you marked yourself).`,
    clean: "clean",
    unclean: "not clean",
    goal: "goal",
    mixed: "of the next tier",
    free: "no click",
    /** @param {import("./progress_picture.js").PassLine} pass */
    tier: ({ tier, mix }) =>
      mix.length === 0 ? WORDS.tier(tier) : `${WORDS.tier(tier)}; ${mix.join(", ")} of the next`,
    head: ["Pass", "Tempo", "Tier", "What", "Went"],
    kind: (/** @type {string} */ kind) => KINDS[kind] ?? kind,
    /**
     * @param {string} when
     * @param {import("./progress_picture.js").PassLine} pass
     */
    told: (when, pass) =>
      `${when}, ${pass.tier}, ${WORDS.grid.kind(pass.kind)} at ${rounded(pass.tempo)}: ${WORDS.grid.went(pass)}`,
    /** @param {import("./progress_picture.js").PassLine} pass */
    went: (pass) => (pass.clean ? "clean" : pass.whole ? "not clean" : "stopped"),
  },

  ready: {
    name: "Ready tempo of each measure",
    none: "No measure of this tier has been heard yet.",
    /**
     * @param {string} tier
     * @param {boolean} all whether each measure has one
     */
    desc: (tier, all) =>
      `${WORDS.tier(tier)} tier: where four passes in five of a measure are clean. Nine times in ten that lies within the interval.${
        all ? "" : " A measure without it was not heard to the click yet."
      }`,
    mark: "ready tempo",
    interval: "interval",
    slow: "slowest",
    there: (/** @type {number} */ value) => `✓ ${rounded(value)}`,
    head: ["Measure", "Ready tempo", "From", "To", "Against the goal", "Rests on passes"],
    /**
     * @param {number} ready
     * @param {number} goal
     */
    against: (ready, goal) => {
      const gap = Math.round(ready) - Math.round(goal);
      return gap >= 0 ? `reached${gap > 0 ? ` (+${gap})` : ""}` : `${-gap} below`;
    },
    /** @param {import("./progress_picture.js").ReadyLine} line */
    told: (line) =>
      `Measure ${line.measure}: ready at ${rounded(line.tempo)}, between ${rounded(line.low)} and ${rounded(line.high)}, from ${counted(line.passes, "pass", "passes")}`,
  },

  minutes: {
    /** @param {import("./progress_days.js").Unit} unit */
    name: (unit) => `Minutes ${EACH[unit]}`,
    none: "Nothing was played in this time.",
    /**
     * @param {string} title
     * @param {import("./progress_days.js").Unit} unit
     * @param {boolean} going whether the last stretch is not over yet
     */
    desc: (title, unit, going) =>
      `The filled part of a bar is ${title}, the open part everything else.${going ? ` The last ${unit} is not over yet.` : ""}`,
    other: "everything else",
    head: (/** @type {string} */ title) => ["When", "All", title],
    long: minutes,
    /**
     * @param {number} value
     * @param {number} most the highest of the scale
     */
    scale: (value, most) => (most > 120 ? `${value / 60} h` : `${value} min`),
    /**
     * @param {string} when
     * @param {number} all
     * @param {string} title
     * @param {number} own
     */
    told: (when, all, title, own) => `${when}: ${minutes(all)}, of them ${title} ${minutes(own)}`,
  },
});

// ---------------------------------------------------------------------------------------------------- after a pass

/** @param {number | null} pitch MIDI */
function letter(pitch) {
  return pitch === null ? "another note" : LETTERS[pitch % 12];
}

/** @param {number} ms */
function away(ms) {
  const whole = Math.abs(Math.round(ms));
  return whole === 0 ? "even" : `${whole} ms ${ms > 0 ? "late" : "early"}`;
}

const AFTER_TEXT = Object.freeze({
  done: {
    heads: { ladder: "The ladder is at its goal", solo: "At the goal, and clean", sitting: "The minutes are played" },
    ends: { ladder: "End the ladder", solo: "Another tune", sitting: "End the sitting" },
    /**
     * @param {"ladder" | "solo" | "sitting"} what
     * @param {import("./messages.js").State} state
     */
    words: (what, { title, goal }) =>
      what === "sitting"
        ? "Put the banjo down, or play on as long as your hands are easy."
        : `${title} was clean at ${number(goal)}. Play it once more to be sure, climb on, or take something else.`,
    /** @param {number} goal quarters a minute */
    on: (goal) => `Climb on to ${number(goal)}`,
  },

  after: {
    /** @param {number} measure */
    link: (measure) => `Show measure ${measure}`,
    /**
     * Where a fault was.
     *
     * @param {Moment} moment
     * @param {any} measure as in the arrangement
     */
    where: (moment, measure) => {
      const place = placed(measure, moment.at);
      if (moment.count < 2) {
        return `Measure ${moment.measure}, ${place}`;
      }
      const name = moment.last === moment.measure ? `Measure ${moment.measure}` : `Measures ${moment.measure} to ${moment.last}`;
      return `${name}, from ${place}`;
    },
    /**
     * What it was.
     *
     * @param {Moment} moment
     */
    what: ({ kind, count, off, pitch, string, pluck }) => {
      switch (kind) {
        case "missed":
          return count > 1
            ? `${counted(count, "note", "notes")} missed`
            : `missed, on string ${pluck.string}`;
        case "wrong note":
          return letter(pitch) === letter(pluck.pitch)
            ? `${letter(pitch)} in another octave`
            : `${letter(pitch)} in place of ${letter(pluck.pitch)}`;
        case "other string":
          return string === null ? "on another string" : `on string ${string}, not ${pluck.string}`;
        case "extra":
          return `${letter(pitch)}, which is not written`;
        default:
          return off < 1 ? kind : `${kind} by ${Math.round(off)} ms`;
      }
    },
    /** @param {number} lean milliseconds */
    lean: (lean) =>
      Math.abs(lean) < 5
        ? ""
        : `Early and late are told from your own steady time, ${Math.abs(Math.round(lean))} ms ${lean > 0 ? "behind" : "ahead of"} the click.`,
    none: "Nothing went wrong that would be worth another look.",
    cut: "What lies behind the last note that was heard does not count against you.",
    failed: "What was heard cannot be fetched now; it is kept in the files below.",
    /**
     * @param {{early: Position | null, late: Position | null}} extremes
     * @param {(slot: number) => string} named
     */
    roll: ({ early, late }, named) => {
      const parts = [
        early === null ? "" : `${named(early.slot)} comes earliest, by ${Math.round(-early.offset_ms)} ms`,
        late === null ? "" : `${named(late.slot)} latest, by ${Math.round(late.offset_ms)} ms`,
      ].filter((part) => part !== "");
      if (parts.length === 0) {
        return "The notes of the roll follow each other evenly.";
      }
      const said = early === null ? parts[0].replace("latest", "comes latest") : parts.join("; ");
      return `${said.charAt(0).toUpperCase()}${said.slice(1)}.`;
    },
    /**
     * @param {number} slot of the roll, from 1
     * @param {string | undefined} count as it is counted aloud
     */
    rollNote: (slot, count) => (count === undefined || count === "·" ? `note ${slot}` : `note ${slot} (${count})`),
    rollAway: away,
    /** @param {number} ms of the scale */
    rollScale: (ms) => (ms === 0 ? "even" : `${ms > 0 ? "late" : "early"} ${number(Math.abs(ms))}`),
    /** @param {Position[]} positions */
    rollPicture: (positions) =>
      `How early or late each note of the roll comes: ${positions.map(({ slot, offset_ms }) => `${slot}: ${away(offset_ms)}`).join(", ")}.`,
    play: "Play",
    stop: "Stop",
    fetching: "Fetching what was heard …",
    /** @param {string} why */
    noTake: (why) => `It cannot be heard now: ${why}`,
    beyond: "The take ends before this measure.",
    /** @type {Record<string, string>} what sounds */
    sounds: { take: "What you played.", solo: "The solo, as written.", both: "You on the left, the solo on the right." },
  },
});

// --------------------------------------------------------------------------------------------------- the tune book

const BOOK_TEXT = Object.freeze({
  book: {
    tunes: "Tunes",
    studies: "Roll studies",
    /** @param {import("./messages.js").TuneLine} tune */
    tune: (tune) => (tune.study ? tune.title : `${tune.title} (${tune.key})`),
    /**
     * @param {number} count that were found
     * @param {number} all
     * @param {number} shown
     */
    found: (count, all, shown) =>
      count === 0
        ? `None of the ${all} tunes has these letters.`
        : `${count} of ${counted(all, "tune", "tunes")}${shown < count ? `, the first ${shown} here; type on to find fewer` : ""}`,
    toCome: "not yet",
    /** @param {string} name */
    reading: (name) => `Reading ${name} …`,
    /**
     * @param {{title: string, tunes?: unknown[], complaints: string[]}} told
     * @param {string} name of the file
     */
    added: ({ title, tunes = [], complaints }, name) =>
      [
        tunes.length > 1 ? `${tunes.length} tunes of ${name} are in the tune book now.` : `“${title}” is in the tune book now.`,
        ...complaints,
      ].join(" "),
    /**
     * @param {string} name
     * @param {string} text what was wrong, with its place
     */
    refused: (name, text) => (text.includes(name) ? text : `${name}: ${text}`),
    /** @param {string} name */
    notSent: (name) => `${name} could not be sent; try again when the connection is back.`,
  },
});

// ------------------------------------------------------------------------------------------ explaining and editing

/** @type {Record<string, string>} */
const FINGERS = { T: "thumb", I: "index finger", M: "middle finger" };

/** @type {Record<string, string>} */
const SLURS = { slide: "slid to", "hammer-on": "hammered on", "pull-off": "pulled off" };

/** @type {Record<string, string>} */
const ROLES = { melody: "melody", fill: "fill", drone: "drone", pinch: "pinch", lick: "lick" };

const STANDS = Object.freeze({
  locked: "This measure is locked: it stays as it is whenever the solo is written anew.",
  edited: "Notes of this measure were changed by hand.",
});

/** Up to what a way costs more or less it is about as good as the one that stands, and where a little worse ends. */
const [ABOUT, LITTLE] = [1, 5];

/**
 * A place on the neck.
 *
 * @param {number} string
 * @param {number} fret
 */
function neckPlace(string, fret) {
  return `string ${string}, ${fret === 0 ? "open" : `fret ${fret}`}`;
}

/**
 * How a pluck is sounded, in words.
 *
 * @param {Pluck} pluck
 */
function how(pluck) {
  if (pluck.technique === "pick") {
    return FINGERS[pluck.finger ?? "T"];
  }
  const from = pluck.from_fret ?? 0;
  return `${SLURS[pluck.technique]} from ${from === 0 ? "the open string" : `fret ${from}`}`;
}

const EDIT_TEXT = Object.freeze({
  edit: {
    explain: "Explain",
    edit: "Edit",
    /** @param {number} measure what the two are about */
    measure: (measure) => ` measure ${measure}`,
    /**
     * @param {number} measure
     * @param {string} tier of the measure, in a mixed solo
     */
    head: (measure, tier) => `Measure ${measure}${tier === "" ? "" : `, ${tier}`}`,
    explaining: "Reading what is to be said of it …",
    /** @param {string} why */
    unexplained: (why) => `What is to be said of it could not be fetched: ${why}`,
    /**
     * @param {{difficulty: number, largest: string}} explained
     */
    difficulty: ({ difficulty, largest }) =>
      `Difficulty ${difficulty.toFixed(1)}${largest === "" ? "" : `; ${largest} add most`}.`,
    /** @param {number[]} others measures that are the same on paper */
    wherever: (others) => (others.length === 0 ? "" : `An edit here holds for ${measureList(others)} too.`),
    /** Signs on strip and sheet, in words. @type {Record<string, string>} */
    signs: { locked: "locked", edited: "edited by hand" },
    /**
     * How a measure stands, and which rules its edits break.
     *
     * @param {"locked" | "edited" | undefined} sign
     * @param {string[]} remarks on all measures
     * @param {number} measure
     */
    stands: (sign, remarks, measure) =>
      [
        ...(sign === undefined ? [] : [STANDS[sign]]),
        ...remarks.filter((remark) => remark.startsWith(`Measure ${measure} `)),
      ].join(" "),
    /** @type {Record<string, string>} What is asked, while the solo is written anew, and when that is done. */
    done: {
      take: "That way stands here now, locked.",
      lock: "The measure is locked.",
      free: "The measure is free again, as the coach writes it.",
      replace: "The note was changed.",
      add: "The note was added.",
      "leave out": "The note is left out.",
      undo: "Taken back.",
      redo: "Done again.",
    },
    writing: "The solo is being written anew …",
    hear: "Listen",
    /** What is seen, and what is read out behind it. @type {[string, string]} */
    hush: ["Stop", " listening"],
    /** What is heard, behind that. */
    standing: " to the measure as it stands",
    silent: "The page cannot sound. Touch the page and try again.",
    notNow: "There is no connection, so nothing was changed. Try again when it is back.",
    lost: "The connection was lost before the answer came. When it is back, see how the measure stands before you try again.",

    /** @param {number} measure */
    grid: (measure) => `Measure ${measure} as it stands, string by string`,
    /**
     * A place of the grid.
     *
     * @param {number} string
     * @param {string} beat as it is counted
     * @param {Pluck | null} pluck
     */
    cell: (string, beat, pluck) =>
      pluck === null
        ? `${capital(beat)}, string ${string}: nothing`
        : `${capital(beat)}, ${neckPlace(string, pluck.fret)}: ${how(pluck)}, ${ROLES[pluck.role]}`,
    /**
     * What is known of the chosen pluck.
     *
     * @param {string} beat as it is counted
     * @param {Pluck} pluck
     * @param {string | null} syllable sung to it
     */
    pluck: (beat, pluck, syllable) =>
      `${capital(beat)}: ${neckPlace(pluck.string, pluck.fret)}, ${how(pluck)}. It sounds ` +
      `${playedWords({ pitch: pluck.pitch })}; ${
        pluck.role === "melody" ? `it carries the melody${syllable === null ? "" : ` (“${syllable}”)`}` : `a ${ROLES[pluck.role]} note`
      }.`,
    /**
     * @param {string} beat
     * @param {number} string
     */
    empty: (beat, string) => `${capital(beat)}: nothing on string ${string} yet.`,
    /**
     * @param {string | null} sounds the pitch of the place; null where there is none
     * @param {string | null} melody the pitch of the melody note here
     */
    sounds: (sounds, melody) =>
      [
        ...(sounds === null ? [] : [`It would sound ${sounds}.`]),
        ...(melody === null ? [] : [`The melody has ${melody} here.`]),
      ].join(" "),
    change: "Change it",
    add: "Add it",
    picking: "Touch the place on the pad, or press its key …",
    pick: "Choose the place on the pad",

    /** What is wrong with a pluck as it is written. */
    noFret: "Give a fret from 0 to 22.",
    noShort: "String 5 begins at its 5th fret: give 0, or 6 and up.",
    noFrom: "Give the fret that it is slurred from, 0 to 22.",
    noMove: "A slur goes from one fret to another: give two that differ.",
    noHammer: "A hammer-on goes up: give a lower fret to come from, or make it a pull-off.",
    noPull: "A pull-off goes down: give a higher fret to come from, or make it a hammer-on.",
    sameAsBefore: "It stands like this already.",

    /**
     * A position as it is counted aloud.
     *
     * @param {number} beat from 1
     * @param {number} share of the beat that is past, 0..1
     * @param {boolean} compound whether the beat divides into three
     */
    counted: (beat, share, compound) => {
      /** @type {Record<string, string>} */
      const words = compound
        ? { 0: "", 0.333: "the second part of ", 0.667: "the third part of " }
        : { 0: "", 0.25: "the e of ", 0.5: "the and of ", 0.75: "the a of " };
      const said = words[String(Math.round(share * 1000) / 1000)];
      return said === undefined ? `${Math.round(share * 100)} % of a beat after beat ${beat}` : `${said}beat ${beat}`;
    },
  },

  ways: {
    looking: "Looking for other ways …",
    none: "No other way through it differs enough: in two slots at least, and in a quarter of them.",
    /** @param {string} why */
    failed: (why) => `Other ways could not be fetched: ${why}`,
    /** @param {number} count */
    head: (count) => `Way ${count}`,
    /**
     * How natural a way is beside the one that stands.
     *
     * @param {number} extra what it costs more
     */
    extra: (extra) => {
      const more = extra > 0 ? "less" : "more";
      if (Math.abs(extra) <= ABOUT) {
        return "about as good";
      }
      return Math.abs(extra) <= LITTLE ? `a little ${more} natural` : `${more} natural`;
    },
    take: "Take this",
    /**
     * What is heard.
     *
     * @param {number} count
     */
    heard: (count) => ` to way ${count}`,
    /**
     * What is seen, and what is read out behind it.
     *
     * @param {number} count
     * @returns {[string, string]}
     */
    more: (count) => ["What else differs", ` on way ${count}`],
    /**
     * @param {number} count
     * @param {number} measure
     */
    takeFull: (count, measure) => `Take way ${count} through measure ${measure}`,
    /**
     * @param {number} count
     * @param {number} measure
     */
    picture: (count, measure) => `Way ${count} through measure ${measure}, in tab`,
  },
});

// --------------------------------------------------------------------------------------------- writing a tune down

/** @type {Record<number, string>} by ticks, as in `enter_tune.js` */
const LENGTHS = { 192: "whole", 96: "half", 48: "quarter", 24: "eighth", 12: "sixteenth" };

const ENTER_TEXT = Object.freeze({
  enter: {
    untitled: "A tune without a name",
    lengths: LENGTHS,
    /** @type {Record<string, string>} */
    modes: { major: "major", minor: "minor", dorian: "dorian", mixolydian: "mixolydian" },
    /** @param {number} eighths */
    pickup: (eighths) => (eighths === 0 ? "none" : eighths === 2 ? "a quarter" : eighths === 1 ? "an eighth" : `${eighths} eighths`),
    /**
     * @param {{measure: number, beat: string}} place
     * @param {string} next what will be written there
     */
    next: ({ measure, beat }, next) => `${measure === 0 ? "Pickup" : `Measure ${measure}`}, beat ${beat}. Next: ${next}.`,
    /**
     * @param {{measure: number, beat: string}} place
     * @param {string} what
     */
    chosen: ({ measure, beat }, what) => `${measure === 0 ? "Pickup" : `Measure ${measure}`}, beat ${beat}: ${what}. Touch a place to change it.`,
    /**
     * @param {number} plain ticks
     * @param {{dotted: boolean, triplet: boolean}} how
     */
    length: (plain, { dotted, triplet }) => `${triplet ? "triplet " : ""}${dotted ? "dotted " : ""}${LENGTHS[plain]} note`,
    /**
     * @param {string} letter empty for a rest
     * @param {string} chord
     */
    what: (letter, chord) => `${letter === "" ? "a rest" : `the note ${letter}`}${chord === "" ? "" : `, over ${chord}`}`,
    /**
     * @param {number} notes
     * @param {number} measures
     */
    picture: (notes, measures) =>
      notes === 0 ? "Nothing is written yet." : `The tune so far: ${notes} notes and rests, ${measures} measures.`,
    /** @param {number} beat */
    beat: (beat) => (beat === 0 ? "where it begins" : `${beat} beat${beat === 1 ? "" : "s"} later`),
    badChord: "That is no chord name that can be read; write it like G, D7, Em or F#m7.",
    noNotes: "There is no note yet: touch a place of the pad, or play one.",
    noTitle: "Give the tune a title, so that it is found in the tune book.",
    giving: "The coach reads it …",
    /**
     * @param {string} title
     * @param {string[]} complaints
     */
    given: (title, complaints) => [`“${title}” is in the tune book. Its three tiers are being written.`, ...complaints].join(" "),
    notGiven: "It could not be sent, but it is kept here; try again when the connection is back.",
    full: "No more notes have room in one tune.",
    silent: "The page cannot sound its click. Touch the page and try again.",
    record: "Play it to the click",
    stop: "Stop, and put it down",
    /** @param {number} beats */
    count: (beats) => `Count-in: ${beats}`,
    /** @param {number} measure */
    measure: (measure) => `Measure ${measure}`,
    pickupNow: "Pickup",
    /**
     * @param {number} notes
     * @param {number} lateMs
     */
    took: (notes, lateMs) =>
      `${notes} note${notes === 1 ? "" : "s"} put down` +
      (Math.abs(lateMs) < 15 ? "." : `; all together they came ${Math.abs(Math.round(lateMs))} ms ${lateMs > 0 ? "late" : "early"}, which is taken off.`) +
      " Choose a note to put it right.",
    tookNone: "No note was heard, so nothing was changed.",
    cleared: "Begun anew. Undo brings the old one back.",
  },
});

// ------------------------------------------------------------------------------------------------------ the ladder

/** @type {Record<Rung["use"], string>} */
const HEADS = {
  whole: "Next rung",
  part: "Next rung: your measures",
  spot: "Next rung: a trouble spot",
  "warm-up": "Next rung: to warm up",
  known: "Next rung: something you know",
  jam: "Next rung: a run as in a jam",
};

/**
 * @param {string} tier
 * @param {number[]} mix its measures of the next tier
 */
function tierWords(tier, mix) {
  return mix.length === 0 ? tier : `${tier}, ${measureList(mix)} ${tierAfter(tier)}`;
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

const LADDER_TEXT = Object.freeze({
  rung: {
    /** @param {Rung} rung */
    head: (rung) => (rung.offer_tier ? `Next rung: the ${rung.offer_tier} tier begins` : HEADS[rung.use]),
    /**
     * @param {Rung} rung
     * @param {string} meter of its tune
     */
    what: (rung, meter) => {
      const pace = tempo(rung.tempo, meter);
      const range = measures(rung.first, rung.last);
      const title = rung.title === "" ? "" : `${rung.title}: `;
      switch (rung.use) {
        case "warm-up":
          return `${title}${pace}`;
        case "known":
          return `${title}${tierWords(rung.tier, rung.mix)}, ${pace}`;
        case "jam":
          return `${title}kick-off, break, back-up, break again, ending; ${tierWords(rung.tier, rung.mix)}, ${pace}`;
        case "spot":
          return `${title}${range} alone, ${pace}; ${tierWords(rung.tier, rung.mix)}`;
        default:
          return `${title}${tierWords(rung.tier, rung.mix)}, ${pace}, ${range}`;
      }
    },
    /**
     * @param {Rung} rung
     * @returns {string} empty where there is nothing unusual
     */
    sounds: (rung) => {
      if (rung.solo) {
        return rung.backing
          ? "The solo sounds along, to be learned by ear."
          : "The solo sounds along, to be learned by ear; no bass and chop.";
      }
      return rung.backing ? "" : "With the click alone, no bass and chop.";
    },
  },

  mix: {
    /** @param {[tier: string, measures: number[]][]} byTier at least one */
    facts: (byTier) => {
      const [[base], ...more] = byTier;
      return [base, ...more.map(([tier, numbers]) => `${measureList(numbers)} ${tier}`)].join(", ");
    },
    /** @param {State} state */
    words: (state) => `${capital(measureList(state.mix))}: ${tierAfter(state.tier)} already.`,
    /** @param {State} state */
    none: (state) => `All of it ${state.tier}`,
    /**
     * @param {number} measure
     * @param {string} tier
     */
    take: (measure, tier) => `Play measure ${measure} as ${tier}`,
  },

  sitting: {
    /** @param {import("./messages.js").SittingState} sitting */
    played: ({ minutes, played }) =>
      played >= minutes
        ? `Sitting: all ${counted(Math.round(minutes), "minute", "minutes")} played`
        : `Sitting: ${Math.floor(played)} of ${counted(Math.round(minutes), "minute", "minutes")}`,
    rest: "Half an hour has been played: rest your hands for a few minutes.",
  },

  drill: {
    /** @param {string} title of the tune at hand; empty where there is none */
    tune: (title) => (title === "" ? "Measures of the tune" : `Measures of ${title}`),
    goalBelow: "The goal has to be no slower than the start.",
    backwards: "The first measure has to come before the last.",
    /** @param {State} state */
    words: (state) =>
      `${isWhole(state) ? state.title : `${capital(measures(state.first, state.last))} of ${state.title}`}: ` +
      `${number(state.step)} up after ` +
      `${state.clean_needed === 1 ? "each clean pass" : `${state.clean_needed} clean passes in a row`}, ` +
      `to ${number(state.goal)}.`,
    /** @param {State} state */
    foot: ({ foot_start, foot_again, foot_next }) => {
      const set = [
        [foot_start, "starts and stops"],
        [foot_again, "plays it again"],
        [foot_next, "takes the next rung"],
      ].filter(([name]) => name !== "");
      return set.length === 0
        ? "A foot switch can start, repeat and go on: set one in the settings."
        : `By foot: ${set.map(([name, does]) => `${name} ${does}`).join(", ")}.`;
    },
    here: ", where you are",
  },
});

// ------------------------------------------------------------------------------------------------------- listening

const LISTEN_TEXT = Object.freeze({
  listen: {
    fetching: "Fetching what sounds …",
    /**
     * @param {string} tier empty where the solo is of several
     * @param {import("./player.js").SoloCues} cues
     */
    now: (tier, { first, last, tempo }) =>
      `You hear ${tier === "" ? "this solo" : `the ${tier} solo`}, ${measures(first, last)}, at ${number(tempo)} quarters a minute.`,
    /** @param {string} why */
    failed: (why) => `It cannot be heard now: ${why}`,
  },
});

// ------------------------------------------------------------------------------------ an instrument in the browser

const MIDI_TEXT = Object.freeze({
  connect: "Hear an instrument in this browser",
  disconnect: "Stop hearing it",
  again: "Try again",
  all: "whatever is plugged in",
  /** @param {string} name of an input that is not there now */
  gone: (name) => `${name} (not plugged in)`,
  /** What stands behind each state of the inputs; see `MidiState`. */
  off: "For an instrument that is plugged into this device, wherever the coach itself runs.",
  insecure:
    "Browsers let a page hear MIDI instruments only over https, or on the computer where the coach itself runs (localhost). " +
    "Open this page there, or have the coach served with a certificate: coach serve --certfile cert.pem --keyfile key.pem. " +
    "The pad and the coach's own inputs work all the same.",
  unknown:
    "This browser cannot hear MIDI instruments; another one on this device may. The pad and the coach's own inputs work all " +
    "the same.",
  touch: "The browser wants to be asked by a touch before it hears your instrument again.",
  asking: "The browser asks whether this page may hear MIDI instruments: allow it.",
  refused:
    "The browser does not let this page hear MIDI instruments. Allow MIDI for this page in the browser's own settings (by the " +
    "address), then ask again.",
  /** @param {string} why */
  failed: (why) => `The browser cannot reach MIDI instruments${why === "" ? "" : `: ${why.replace(/\.$/, "")}`}. Plug one in and try again.`,
  /** @param {string} name */
  heard: (name) => `Heard in this browser: ${name}. The coach's own inputs are left alone meanwhile; the pad works too.`,
  none: "No instrument is plugged in. It is heard as soon as it is.",
  /** @param {string} name */
  waiting: (name) => `${name} is not plugged in. It is heard as soon as it is back.`,
  /** @param {string[]} names */
  busy: (names) =>
    `${names.join(" and ")} cannot be opened: another program keeps it for itself. Close that one, then try again.`,
  /** @param {string} name */
  lost: (name) => `${name} was unplugged. It is taken up again when it is back; what you miss meanwhile is not held against you.`,
  /** @param {string} name */
  back: (name) => `${name} is heard again.`,
});

// ----------------------------------------------------------------------------------------------------------- print

/** From string 5 to string 1; the drone, which is the highest, is written small. */
const STRINGS = ["5", "4", "3", "2", "1"];

const PRINT_TEXT = Object.freeze({
  papers: "Or take it as a file, with repeats folded:",
  later: "The sheet can be printed when the pass is over: printing would hold up the click.",
  /** Papers of the file, as the service knows them, and their names. */
  kinds: /** @type {const} */ ([
    ["a4", "A4 (.pdf)"],
    ["letter", "Letter (.pdf)"],
  ]),
  marks:
    "Pencil: a tick before a number: early, behind it: late; a ring: missed; a small number: played instead; " +
    "a dot: an extra note.",
  name: "Name",
  date: "Date",
  /**
   * What a player needs to know before the first note.
   *
   * @param {any} arrangement as in its file
   * @param {string} facts tier, key, capo, tuning and metre
   * @returns {string[]} lines
   */
  lines: (arrangement, facts) => {
    const letters = STRINGS.map((string) => {
      const letter = LETTERS[arrangement.tuning.strings[string] % 12];
      return string === "5" ? letter.toLowerCase() : letter;
    });
    return [facts, `Strings 5 to 1: ${letters.join(" ")} · ${counted(arrangement.measures.length, "measure", "measures")}`];
  },
  /**
   * @param {{tempo: number, goal: number}} state
   * @param {string} meter
   */
  tempo: (state, meter) => {
    const up = state.goal > state.tempo ? `, up to ${tempo(state.goal, meter)}` : "";
    return `Tempo: ${tempo(state.tempo, meter)}${up}`;
  },
  unloaded: "The sheet for printing could not be fetched; try again when the connection is back.",
});

// -------------------------------------------------------------------------------- all else, and all of it together

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

  watched: (/** @type {string[]} */ by) =>
    `${by.length < 2 ? by.join() : `${by.slice(0, -1).join(", ")} and ${by.at(-1)}`} ${by.length < 2 ? "is" : "are"} looking on and listening`,
  line: {
    connecting: "Looking for the coach …",
    lost: "The connection is lost. What you play on the pad is kept until it is back.",
    back: "The connection is back.",
    unreachable: "This part of the page could not be fetched; try again when the connection is back.",
    stopped: "Stopped. The coach is told when the connection is back; until then no other pass can begin.",
    /** Behind "it cannot be shown:" and the like. */
    away: "the service cannot be reached.",
    newer: "There is a newer page. It opens as soon as this pass is over.",
  },

  sound: {
    off: "Sound is off until you touch the page once.",
    /** @param {number} sooner seconds; below 0 for later */
    moved: (sooner) =>
      `The sound goes out another way now, ${Math.round(Math.abs(sooner) * 1000)} ms ${sooner < 0 ? "later" : "sooner"}. ` +
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
      if (lacked === "") {
        return head;
      }
      return score.clean ? `${head}; ${lacked}, which a clean measure may have` : `${head}, ${lacked}`;
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
      isWhole(state)
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
      if (report.measures.length > 0 && report.measures.every(({ played }) => played === 0)) {
        return `Pass ${report.number}: nothing was heard`;
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
