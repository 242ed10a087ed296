/**
 * The words that the scripts of the desk say. Another language is another file like this one.
 *
 * Pure: no document.
 *
 * @module desk_english
 */

import { counted, measureList, measures, number } from "./english.js";
import { SIGNS, TIERS } from "./tiers.js";

/** @typedef {import("./desk_cards.js").Card} Card */
/** @typedef {import("./desk_cards.js").PassStrip} PassStrip */
/** @typedef {import("./desk_form.js").Assigned} Assigned */

const NUMBERS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];

/** @param {number} count */
function inWords(count) {
  return NUMBERS[count] ?? String(count);
}

/**
 * @param {string[]} names at least one
 * @returns {string} at most three, and how many more
 */
function named(names) {
  const shown = names.length > 4 ? [...names.slice(0, 3), `${names.length - 3} others`] : names;
  return shown.length === 1 ? shown[0] : `${shown.slice(0, -1).join(", ")} and ${shown[shown.length - 1]}`;
}

/** @param {string} time RFC 3339, or a date */
function day(time) {
  return new Date(time.length === 10 ? `${time}T12:00` : time).toLocaleDateString("en-GB", { day: "numeric", month: "long" });
}

/**
 * When it was, as one says it.
 *
 * @param {string} time RFC 3339 in UTC
 * @param {Date} now
 */
function since(time, now) {
  const then = new Date(time);
  const clock = then.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const noon = (/** @type {Date} */ date) => new Date(date.getFullYear(), date.getMonth(), date.getDate(), 12).getTime();
  const days = Math.round((noon(now) - noon(then)) / 86_400_000);
  if (days <= 0) {
    return `today at ${clock}`;
  }
  return days === 1 ? "yesterday" : days < 7 ? `${inWords(days)} days ago` : `on ${day(time)}`;
}

/** @param {string} tier */
function tierWords(tier) {
  return tier === "" ? "" : `${SIGNS[tier] ?? ""} ${tier}`.trim();
}

/** @param {PassStrip} pass */
function passWords(pass) {
  const at = `${pass.tier} at ${number(pass.tempo)}`;
  if (pass.marked) {
    return `${at}: marked ${pass.clean[0] ? "clean" : "not clean"} by the student`;
  }
  const unclean = pass.clean.flatMap((clean, index) => (clean ? [] : [pass.first + index]));
  const end = pass.whole ? "" : ", stopped";
  if (pass.clean.length === 0) {
    return `${at}: nothing yet`;
  }
  return unclean.length === 0 ? `${at}: clean${end}` : `${at}: ${measureList(unclean)} not clean${end}`;
}

export const DESK = Object.freeze({
  day,
  since,
  named,
  tier: tierWords,
  titles: { now: "Now", open: "A student", set: "Set", people: "People", tunes: "Tunes" },
  /**
   * @param {string} view
   * @param {string} studio
   */
  title: (view, studio) => `${view} · ${studio}`,

  line: {
    connecting: "Calling the coach …",
    lost: "The line is lost. It is tried again by itself.",
    newer: "There is a newer desk. It comes as soon as you are back at all students.",
  },

  now: {
    /**
     * @param {{all: number, here: number, stuck: Card[]}} counts
     */
    words: ({ all, here, stuck }) => {
      const held = stuck.length === 0 ? "" : `, ${inWords(stuck.length)} stuck`;
      return `${counted(all, "student", "students")}, ${here === 0 ? "nobody" : inWords(here)} at practice${held}`;
    },
    /**
     * Who would stand elsewhere.
     *
     * @param {{come: Card[], gone: Card[], stuck: Card[], free: Card[]}} moved
     */
    moved: ({ come, gone, stuck, free }) => {
      const said = [
        [stuck, "stuck now"],
        [come, come.length === 1 ? "has come" : "have come"],
        [free, "not stuck any more"],
        [gone, gone.length === 1 ? "has left" : "have left"],
      ];
      return said
        .flatMap(([cards, words]) => (cards.length === 0 ? [] : [`${named(/** @type {Card[]} */ (cards).map(({ name }) => name))} ${words}`]))
        .join("; ");
    },
    /** @param {Card} card */
    stuck: ({ stuck, times }) => `Measure ${stuck} has failed ${inWords(times)} times running`,
    /** @param {Card} card */
    doing: (card) => {
      switch (card.state) {
        case "counting in":
          return "Counting in";
        case "playing":
          return card.measure === null ? "Playing" : `Playing, measure ${card.measure}`;
        case "paused":
          return "Paused";
        default:
          return card.strips.length === 0 ? "Has come to practise" : "Between passes";
      }
    },
    /**
     * @param {Card} card
     * @param {Date} now
     */
    away: ({ practised }, now) => (practised === "" ? "Not heard yet" : `Heard ${since(practised, now)}`),
    /** @param {Card} card */
    what: ({ title, tier, mix }) => `${title} ${SIGNS[tier] ?? ""}${mix.length === 0 ? "" : ` + ${mix.length}`}`.trim(),
    /** @param {Card} card */
    whatAloud: ({ title, tier, mix, first, last, measures: all }) =>
      [
        title,
        tier,
        ...(mix.length === 0 ? [] : [`${measureList(mix)} of the next tier`]),
        ...(last - first + 1 >= all ? [] : [measures(first, last)]),
      ].join(", "),
    /** @param {Card} card */
    range: ({ first, last, measures: all }) => (last - first + 1 >= all ? "" : first === last ? `m. ${first}` : `m. ${first}–${last}`),
    looked: "looked on",
    tempo: (/** @type {number} */ tempo) => (tempo > 0 ? String(Math.round(tempo)) : ""),
    /**
     * What the strips show, for who does not see them.
     *
     * @param {Card} card
     * @param {PassStrip[]} passes
     */
    strips: ({ marks }, passes) => {
      const last = passes.at(-1);
      const over = last === undefined ? "No pass yet." : `Last pass, ${passWords(last)}.`;
      return marks === null ? over : `Now, ${passWords({ ...marks, whole: true })}. ${over}`;
    },
    /** @param {Card} card */
    aloud: (card) => `${card.name}: measure ${card.stuck} has failed ${inWords(card.times)} times running.`,
    key: { tick: "clean", ring: "not clean", stuck: "failed again and again" },
    keyWords: `A row is a pass, the latest lowest; on the stave, what is played now. Tiers: ${TIERS.map(tierWords).join(", ")}.`,
  },

  open: {
    /** @param {string} name */
    sign: (name) => `${name} sees a sign that you look on and listen, as long as this is open.`,
    signAway: (/** @type {string} */ name) => `${name} is not at practice now. As soon as they are, their sheet is here, and they see a sign that you look on.`,
    /** @param {Card} card */
    facts: ({ title, tier }) => [title, tierWords(tier)].filter((one) => one !== "").join(", "),
    away: "Here lies the sheet, as soon as they practise.",
    waiting: "Their sheet is on its way …",
    unwritten: "Their solo is being written.",
    failed: (/** @type {string} */ why) => `The sheet cannot be shown: ${why}`,
    /** @param {number} tempo @param {string} place */
    place: (tempo, place) => [tempo > 0 ? `${number(tempo)} quarters a minute` : "", place].filter((one) => one !== "").join(" · "),
    between: "Between passes",
    free: "in their own time",
    take: "The take (MIDI)",
    loop: (/** @type {number} */ measure) => `Ask to practise measure ${measure} alone`,
  },

  hear: {
    on: "Listen",
    off: "Stop listening",
    starting: "The sound is made ready …",
    hearing: (/** @type {string} */ name, /** @type {number} */ behind) => `You hear ${name} ${number(behind)} seconds later.`,
    failed: "This page cannot sound. See that sound is allowed here, and try again.",
    late: (/** @type {number} */ count) =>
      `${counted(count, "note", "notes")} came too late over the line to sound in time: they are marked all the same.`,
  },

  steer: {
    nothing: "That is what they have. Change something first.",
    away: "The line is lost: ask again when it is back.",
    order: "The first measure comes after the last.",
    /** @type {Record<string, (name: string) => string>} */
    came: {
      waits: (name) => `${name} is asked, and has not said a word yet.`,
      agreed: (name) => `${name} agreed.`,
      declined: (name) => `${name} would rather leave it as it is.`,
      "not here": (name) => `${name} is not at practice now.`,
    },
  },

  pins: {
    measure: (/** @type {number} */ measure) => `Measure ${measure}`,
    facts: (/** @type {{by: string, made: string, seen: boolean}} */ pin) =>
      `${pin.by}, ${day(pin.made)} · ${pin.seen ? "read" : "not read yet"}`,
    remove: "Remove",
    removeLong: (/** @type {number} */ measure) => `Remove the words at measure ${measure}`,
    pinned: "Pinned.",
  },

  set: {
    /** @param {number} count @param {boolean} all */
    send: (count, all) => (all ? "Set it for the whole class" : count === 0 ? "Set it" : `Set it for ${counted(count, "student", "students")}`),
    nobody: "Choose at least one student, or the whole class.",
    unread: "The measures of the next tier cannot be read: write them like 3, 5 to 7.",
    done: (/** @type {number} */ count) => `It is set for ${counted(count, "student", "students")}.`,
    noTunes: "There are no tunes yet: bring one under Tunes.",
    noStudents: "Nobody is here yet: invite your first student under People.",
    /** @param {Assigned} one */
    what: ({ title, tier, mix, goal }) =>
      `${title}, ${tierWords(tier)}${mix.length === 0 ? "" : `, ${measureList(mix)} of the next tier`}, to ${number(goal)}`,
    /** @param {Assigned} one */
    facts: ({ until, by, rules, words }) =>
      [until === "" ? `by ${by}` : `until ${day(until)}, by ${by}`, words === "" ? "" : `“${words}”`, rules].filter((text) => text !== ""),
    reached: (/** @type {number | null} */ tempo) => (tempo === null ? "not clean yet" : number(tempo)),
    goal: "reached",
    end: "End it",
    endLong: (/** @type {string} */ name, /** @type {string} */ title) => `End ${title} for ${name}`,
    endAll: "End it for all",
  },

  people: {
    teacher: "teacher",
    you: "you",
    /** @param {{practised: string, began: string, devices: number, has_password: boolean, passkeys: number}} person @param {Date} now */
    facts: ({ practised, began, devices, has_password, passkeys }, now) =>
      [
        practised === "" ? "not heard yet" : `heard ${since(practised, now)}`,
        counted(devices, "device signed in", "devices signed in"),
        has_password || passkeys > 0 ? "" : "no passkey or password yet",
        `here since ${day(began)}`,
      ]
        .filter((text) => text !== "")
        .join(" · "),
    week: "Week",
    open: "Now",
    more: "Access and data",
    back: "Give access back",
    backHint: "A link by which they come back on a new device. Their password, passkeys and old devices do not count any more then.",
    out: "Sign out everywhere",
    outDone: (/** @type {string} */ name) => `${name} is signed out on all devices.`,
    export: "Take all of it out (ZIP)",
    forget: "Delete all that is kept",
    forgetHint: "Takes, progress, words, tunes of their own: all of it is deleted, and cannot be brought back. Type the name to be sure.",
    forgetName: (/** @type {string} */ name) => `Type ${name}`,
    notTheName: "That is not the name: nothing was deleted.",
    forgotten: (/** @type {string} */ name) => `All that was kept of ${name} is deleted.`,
    nobody: "No student yet. Make a link, and send it to the first.",
    link: (/** @type {string} */ role, /** @type {string} */ expires) =>
      `For one ${role}, until ${day(expires)}. It works once; whoever has it comes in, so send it to nobody else. It is shown only now.`,
    linkBack: (/** @type {string} */ name, /** @type {string} */ expires) => `For ${name} to come back, until ${day(expires)}. It works once. It is shown only now.`,
    copied: "Copied.",
    copyByHand: "Press Ctrl and C to copy it.",
    /** @param {{role: string, by: string, expires: string, made: string}} invitation @param {string} person */
    invitation: ({ role, by, expires }, person) =>
      `${person === "" ? `For a ${role}` : `For ${person} to come back`}, by ${by}, until ${day(expires)}`,
    withdraw: "Withdraw",
    withdrawn: "The link does not work any more.",
  },

  tunes: {
    /** @param {{title: string, key: string, measures: number}} tune */
    facts: ({ key, measures: count }) => `${key}, ${counted(count, "measure", "measures")}`,
    study: "roll study",
    common: "with the coach",
    own: "of the studio",
    of: (/** @type {string} */ name) => `brought by ${name}, who alone sees it with you`,
    withdraw: "Withdraw",
    withdrawLong: (/** @type {string} */ title) => `Withdraw ${title}`,
    sure: (/** @type {string} */ title) => `Withdraw ${title}?`,
    yes: "Yes, withdraw it",
    no: "Keep it",
    withdrawn: (/** @type {string} */ title) => `${title} is not in the book any more. What was played of it stays.`,
    share: "Share with all",
    shareLong: (/** @type {string} */ title) => `Share ${title} with all students`,
    shared: (/** @type {string} */ title) => `${title} is in the book of all students now.`,
    none: "No tunes yet.",
    lick: (/** @type {{chord: string, use: string, tuning: string}} */ { chord, use, tuning }) => `${use} over ${chord}, ${tuning}`,
    lickKept: (/** @type {string} */ name) => `“${name}” is kept: new solos of the studio may use it.`,
    lickGone: (/** @type {string} */ name) => `“${name}” is withdrawn. Solos that have it keep it.`,
    noLicks: (/** @type {string} */ file) => `${file} has no licks: it is to be JSON, {"format": "licks/1", "licks": [ … ]}.`,
    count: (/** @type {number} */ found, /** @type {number} */ all) => `${found} of ${counted(all, "tune", "tunes")}`,
  },
});
