/**
 * The neck: which pitch a place has, and which fret a pitch.
 *
 * Frets count from the capo; the fifth string begins at its fifth fret, so its frets are 0, and 6 and up.
 *
 * @module neck
 */

/**
 * The pitch of a place.
 *
 * @param {Record<string, number>} strings MIDI pitches of the open strings, `"1"` to `"5"`, without capo
 * @param {number} capo
 * @param {number} string 1..5
 * @param {number} fret
 * @returns {number} MIDI
 */
export function pitchAt(strings, capo, string, fret) {
  return strings[String(string)] + capo + (string === 5 && fret > 5 ? fret - 5 : fret);
}

/**
 * The fret at which a string sounds a pitch.
 *
 * @param {Record<string, number>} strings MIDI pitches of the open strings, `"1"` to `"5"`, without capo
 * @param {number} capo
 * @param {number} string 1..5
 * @param {number} pitch MIDI
 * @returns {number | null} null where the string does not reach so low
 */
export function fretAt(strings, capo, string, pitch) {
  const over = pitch - strings[String(string)] - capo;
  if (over < 0) {
    return null;
  }
  return string === 5 && over > 0 ? over + 5 : over;
}

/**
 * Open G, the usual tuning: D4 B3 G3 D3 and the drone G4.
 *
 * @type {Readonly<Record<string, number>>}
 */
export const OPEN_G = Object.freeze({ 1: 62, 2: 59, 3: 55, 4: 50, 5: 67 });

/** The highest fret of the pad. */
export const HIGHEST_FRET = 12;

/**
 * Whether there is such a place on the neck: the fifth string has no frets 1 to 5.
 *
 * @param {number} string
 * @param {unknown} fret
 */
export function isPlace(string, fret) {
  return Number.isInteger(fret) && Number(fret) >= 0 && !(string === 5 && Number(fret) >= 1 && Number(fret) <= 5);
}

/**
 * The places where a pitch can be played, the lowest frets first; of two at one fret the higher string.
 *
 * @param {Record<string, number>} strings MIDI pitches of the open strings, `"1"` to `"5"`, without capo
 * @param {number} capo
 * @param {number} pitch MIDI
 * @returns {{string: number, fret: number}[]} up to {@link HIGHEST_FRET}
 */
export function placesOf(strings, capo, pitch) {
  return [1, 2, 3, 4, 5]
    .map((string) => ({ string, fret: fretAt(strings, capo, string, pitch) ?? -1 }))
    .filter(({ fret }) => fret >= 0 && fret <= HIGHEST_FRET)
    .sort((a, b) => a.fret - b.fret || a.string - b.string);
}
