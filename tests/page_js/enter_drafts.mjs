/**
 * Drafts by chance, and the ABC that is written of them: a line of JSON for each, on the standard output.
 *
 *     node enter_drafts.mjs COUNT
 */

import { signatureOf, tonicsOf } from "../../web_client/abc_names.js";
import { abcOf } from "../../web_client/abc_tune.js";
import {
  EMPTY, LENGTHS, METERS, beatOf, harmonised, inserted, lengthOf, measureOf, startsOf,
} from "../../web_client/enter_tune.js";

let state = 20260214;

/** A whole number below a limit, the same in every run: the minimal standard generator of Park and Miller. */
function below(limit) {
  state = (state * 48271) % 2147483647;
  return state % limit;
}

const pick = (list) => list[below(list.length)];

/**
 * A draft of notes, rests, dots, ties and triplets.
 *
 * @param {boolean} tidy whether triplets are whole, begin on a beat of their own and lie within a measure; else they are
 *   where chance puts them, and may be broken off
 */
function draftByChance(tidy) {
  const mode = pick(["major", "minor", "dorian", "mixolydian"]);
  const meter = pick(METERS);
  let draft = {
    ...EMPTY,
    title: pick(["Reed Bank", "50 % of the mill \\ stream", " Lane  “At Night” "]),
    mode,
    tonic: pick(tonicsOf(mode)),
    meter,
    pickup: pick([0, 0, beatOf(meter), 24]) % measureOf(meter),
    words: pick(["", "Down by the ri-ver * bends a slow wa-ter wheel", "99 geese went by -- oh_my * * (so) gray"]),
  };
  for (let count = 1 + below(24); count > 0; count -= 1) {
    const pitch = draft.notes.length > 0 && below(8) === 0 ? null : 48 + below(33);
    const plain = pick(LENGTHS);
    const end = startsOf(draft)[draft.notes.length] + measureOf(meter) - draft.pickup;
    const fits = end % (2 * plain) === 0 && (end % measureOf(meter)) + 2 * plain <= measureOf(meter);
    const triplet = plain > 12 && plain < 96 && (fits || !tidy) && below(3) === 0;
    const length = lengthOf(plain, { dotted: !triplet && plain > 12 && below(4) === 0, triplet });
    const times = triplet ? pick(tidy ? [3] : [3, 3, 1, 2]) : 1;
    for (let more = times; more > 0; more -= 1) {
      const tied = pitch !== null && !triplet && below(6) === 0;
      draft = inserted(draft, draft.notes.length, { pitch, length, triplet, tied: false, string: null, fret: null });
      if (tied) {
        const last = draft.notes.length;
        draft = inserted(draft, last, { pitch, length: 24, triplet: false, tied: false, string: null, fret: null });
        draft = { ...draft, notes: draft.notes.map((note, at) => (at === last - 1 ? { ...note, tied: true } : note)) };
      }
    }
  }
  const starts = startsOf(draft);
  const inTriplet = (/** @type {number} */ at) =>
    draft.notes.some((note, index) => note.triplet && starts[index] < at && at < starts[index + 1]);
  for (let at = 0; at < starts[draft.notes.length]; at += beatOf(meter)) {
    draft = (at === 0 || below(3) === 0) && !(tidy && inTriplet(at)) ? harmonised(draft, at, pick(["G", "C", "D7", "Em", "F#m", "Bb"])) : draft;
  }
  return draft;
}

for (let count = Number(process.argv[2]); count > 0; count -= 1) {
  const tidy = count % 2 === 0;
  const draft = draftByChance(tidy);
  console.log(JSON.stringify({ draft, tidy, sharps: signatureOf(draft), abc: abcOf(draft, "A tune without a name") }));
}
