/**
 * The kinds of message of the wire, subprotocol `coach.1`, and their shapes as far as the page uses them.
 *
 * The service's own list is the agreement; a test keeps the two lists below equal to it.
 *
 * @module messages
 */

export const SUBPROTOCOL = "coach.1";

/** The most notes that one `notes` message may carry. */
export const MOST_NOTES_IN_A_MESSAGE = 256;

/** What a page may send. */
export const FROM_PAGE = Object.freeze([
  "join", "pong", "settings", "sitting", "start", "stop", "again", "next_rung", "calibrate", "learn_foot", "mark",
  "sounding", "notes", "input", "enter", "edit", "undo", "redo", "answer", "desk", "look_on", "steer",
]);

/** What the service may send. */
export const FROM_SERVICE = Object.freeze([
  "hello", "ping", "ack", "failure", "tunes", "ports", "state", "begin", "heard", "place", "verdict", "amend", "measure",
  "report", "calibrated", "foot", "played", "watched", "offer", "pins", "assigned", "desk_hello", "card", "live", "sounded",
  "steered",
]);

/**
 * @typedef {{kind: string} & Record<string, any>} Message
 * A JSON object told apart by `kind`.
 *
 * @typedef {[at: number, voice: string, pitch: number, length: number, level: number]} Cue
 * A sound to make: seconds from position 0 of the pass, voice, MIDI pitch, seconds, 0..1.
 *
 * @typedef {{seq: number, stamp: number, data: number[]}} InputNote
 * A captured MIDI message; `stamp` in seconds on the page's clock.
 *
 * @typedef {{number: number, digest: string, tempo: number, first: number, last: number, sounds: boolean,
 *   origin: number | null, lead: number, length: number, positions: [number, number][], cues: Cue[],
 *   free: boolean, learning: boolean, levels: Record<string, number>}} Begin
 * A pass begins; `positions` are [measure number, seconds from position 0 of its start]. A `free` one goes by the
 * player's own time; where the instrument is to be learned it is no pass. `levels` are those of click, backing and solo
 * at first; the level of a cue is within its part.
 *
 * @typedef {{stamp: number, pitch: number, string: number | null, velocity: number}} Played
 * A note on one of the service's own inputs, between passes, for a page that writes down what is played.
 *
 * @typedef {{locked: number[], edited: number[], undo: boolean, redo: boolean, why_not: string,
 *   remarks: string[], steps: number}} EditState
 * Measures, as played, that are locked or of which plucks were edited; why the solo cannot be edited, where it cannot;
 * which rules of the hands the edited measures break, a sentence each; how many changes lie behind, another number after
 * each.
 *
 * @typedef {{number: number, measure: number, tempo: number}} Place
 * Where the player of a free pass is, and how fast.
 *
 * @typedef {{tier: string, tempo: number, first: number, last: number, why: string, offer_tier?: string | null,
 *   use: "whole" | "part" | "spot" | "warm-up" | "known" | "jam", tune: string, title: string, mix: number[],
 *   solo: boolean, backing: boolean}} Rung
 * What comes next; `tune` and `title` are empty where it is of the tune at hand, `mix` are its measures of the next tier.
 *
 * @typedef {{minutes: number, played: number, rest: boolean}} SittingState
 * A sitting that is on: its minutes, how many were played, whether a rest is due.
 *
 * @typedef {{state: string, number: number, tune: string, title: string, digest: string, tier: string,
 *   tempo: number, goal: number, floor: number, first: number, last: number, measures: number, bounce: number,
 *   solo_level: number, backing_level: number, click_level: number, keep_going: boolean, sound: string,
 *   self_marked: boolean, foot_start: string, foot_again: string, foot_next: string, latency_ms: number,
 *   out_delay_ms: number, tolerance_ms: number | null, string_channels: string, rung: Rung | null,
 *   waiting: string, free_time: boolean, instrument: string, latency_by_string: Record<string, number>,
 *   is_learned: boolean, learning: boolean, learning_foot: string, foot_words: string, mix: number[], jam: boolean,
 *   with_solo: boolean, with_backing: boolean, policy: "coach" | "three clean" | "every pass" | "steps", step: number,
 *   clean_needed: number, sitting: SittingState | null, thinks: string, solos: Record<string, string>,
 *   edits: EditState, levels: Record<string, number>}} State
 *
 * @typedef {{id: string, title: string, key: string, meter: string, measures: number, study: boolean}} TuneLine
 *
 * @typedef {{inputs: string[], outputs: string[], input: string | null, output: string | null,
 *   missing: string, foot: string | null, own: string}} Ports
 *
 * @typedef {{number: number, measure: number, id: string | null, verdict: string, offset_ms: number | null,
 *   pitch: number | null, string: number | null, fret?: number | null, at?: string | null,
 *   fault?: boolean}} Verdict
 * `id` is null for an extra note.
 *
 * @typedef {{number: number, expected: number, played: number, missed: number, wrong: number, extra: number,
 *   off_time: number, mean_offset_ms: number | null, spread_ms: number | null, melody_heard: number | null,
 *   clean: boolean, tempo?: number | null, cut?: boolean}} MeasureScore
 * `tempo` is there after a pass in free time; null where too little tells it. The page's own `cut` says that the pass was
 * stopped in this measure.
 *
 * @typedef {{instrument: string, trusted: boolean, sentence: string, lag_ms: number, error_ms: number,
 *   spread_ms: number, latency_ms: number, latency_from_ms: number, latency_to_ms: number, lean_ms: number,
 *   by_string: {string: number, latency_ms: number, spread_ms: number, count: number}[],
 *   offsets_ms: (number | null)[]}} Calibrated
 * What came of learning the instrument; an offset is null where a click had no note.
 *
 * @typedef {{number: number, whole: boolean, clean: boolean, self_marked: boolean, measures: MeasureScore[],
 *   summary: Record<string, number | null>, sentences: string[], rung: Rung | null, take: string,
 *   report: string, free: boolean, asks: boolean, rest: string, kept_going: boolean | null}} Report
 * One that `asks` is still to be marked by the player; `rest` is the reminder of one, where it is due.
 */
