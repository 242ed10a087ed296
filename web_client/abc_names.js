/**
 * Pitches as ABC writes them: names by the key, and accidentals where they are needed.
 *
 * Pure. The rules are those of the ABC music standard 2.1, sections 3.1.14 (keys), 4.1 and 4.2 (pitch, accidentals), from
 * memory; the spelling of notes that are not in the key is the harmonic chromatic scale (common practice, no source).
 *
 * @module abc_names
 */

/** Letters along the line of fifths, and their pitch classes. */
const FIFTHS = "FCGDAEB";
const NATURAL = /** @type {Record<string, number>} */ ({ C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 });
const SIGNS = /** @type {Record<number, string>} */ ({ [-1]: "_", 0: "=", 1: "^" });

/** How many fifths the signature of a mode lies below that of the major key on its tonic. */
const BEHIND_MAJOR = /** @type {Record<string, number>} */ ({ major: 0, mixolydian: 1, dorian: 2, minor: 3 });

/** What ABC writes behind the tonic. */
const MODES = /** @type {Record<string, string>} */ ({ major: "maj", minor: "min", dorian: "dor", mixolydian: "mix" });

/** Fifths above the tonic at which the chromatic scale lies: from the flat second to the sharp fourth, the nearest first. */
const CHROMATIC = [0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6];

/** @typedef {{tonic: string, mode: string}} KeyOf */

/**
 * Where a note name lies on the line of fifths: C is 0, G 1, F -1.
 *
 * @param {string} name such as `F#`
 */
function fifthsOf(name) {
  const sharps = name.match(/#/g)?.length ?? 0;
  const flats = name.slice(1).match(/b/g)?.length ?? 0;
  return FIFTHS.indexOf(name[0]) - 1 + 7 * (sharps - flats);
}

/**
 * The sharps of a key signature, flats below 0.
 *
 * @param {KeyOf} key
 * @returns {number} beyond ±7 there is no such signature
 */
export function signatureOf({ tonic, mode }) {
  return fifthsOf(tonic) - BEHIND_MAJOR[mode];
}

/**
 * The keys that have a signature, by mode.
 *
 * @param {string} mode
 * @returns {string[]} tonics, those with the fewest signs first
 */
export function tonicsOf(mode) {
  const all = [...FIFTHS].flatMap((letter) => [letter, `${letter}#`, `${letter}b`]);
  const signs = (/** @type {string} */ tonic) => Math.abs(signatureOf({ tonic, mode }));
  return all.filter((tonic) => signs(tonic) <= 6).sort((a, b) => signs(a) - signs(b) || fifthsOf(b) - fifthsOf(a));
}

/**
 * The value of the `K:` field.
 *
 * @param {KeyOf} key
 */
export function keyField({ tonic, mode }) {
  return `${tonic}${MODES[mode]}`;
}

/**
 * The name of a pitch class in a key. What would need a double sharp or flat is named more plainly.
 *
 * @param {KeyOf} key
 * @param {number} pitchClass 0..11
 * @returns {{letter: string, sign: number}} 1 for a sharp, -1 for a flat
 */
export function spelled(key, pitchClass) {
  const home = fifthsOf(key.tonic);
  for (const step of [...CHROMATIC, ...CHROMATIC.map((near) => near + 12), ...CHROMATIC.map((near) => near - 12)]) {
    const place = home + step + 1; // from F on
    const letter = FIFTHS[((place % 7) + 7) % 7];
    const sign = Math.floor(place / 7);
    if (Math.abs(sign) <= 1 && (NATURAL[letter] + sign + 12) % 12 === pitchClass) {
      return { letter, sign };
    }
  }
  throw new RangeError(`${pitchClass} is no pitch class`);
}

/**
 * The name of a pitch class as it is read: `F#`, `Bb`.
 *
 * @param {KeyOf} key
 * @param {number} pitchClass 0..11
 */
export function nameOf(key, pitchClass) {
  const { letter, sign } = spelled(key, pitchClass);
  return letter + (sign < 0 ? "b" : "#").repeat(Math.abs(sign));
}

/** Writes the pitches of one measure after another. */
export class Pitches {
  /** @param {KeyOf} key */
  constructor(key) {
    this.key = key;
    const fifths = signatureOf(key);
    /** @type {Map<string, number>} the sign of each letter by the signature */
    this.signature = new Map(
      [...FIFTHS].map((letter, index) => [letter, Math.floor((fifths + 6 - index) / 7)]),
    );
    /** @type {Map<string, number>} signs in this measure, by letter and octave, and by letter alone */
    this.signs = new Map();
  }

  /** A barline: the signature holds again. */
  bar() {
    this.signs.clear();
  }

  /**
   * A pitch as ABC writes it. Whether an accidental holds for its own octave or for all octaves was read in both ways
   * (standard 2.1, section 11.3), so one is written wherever either way would give another note.
   *
   * @param {number} pitch MIDI; middle C, 60, is `C`
   * @returns {string}
   */
  write(pitch) {
    const { letter, sign } = spelled(this.key, pitch % 12);
    const octave = Math.floor((pitch - NATURAL[letter] - sign) / 12) - 5;
    const own = this.signature.get(letter) ?? 0;
    const here = `${letter}${octave}`;
    const holds = [this.signs.get(here) ?? own, this.signs.get(letter) ?? own];
    this.signs.set(here, sign).set(letter, sign);
    const name = octave >= 1 ? letter.toLowerCase() + "'".repeat(octave - 1) : letter + ",".repeat(-octave);
    return (holds.every((held) => held === sign) ? "" : SIGNS[sign]) + name;
  }
}
