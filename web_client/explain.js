/**
 * What the service says of each measure of a solo: what was done with the melody, and why.
 *
 * @module explain
 */

/**
 * @typedef {{text: string, plucks: string[]}} Sentence
 * `plucks` are the ids that it is about.
 *
 * @typedef {{number: number, same_as?: number, sentences: Sentence[], difficulty: number, largest: string}} Explained
 */

/** Explanations of solos; the one that was asked for last is kept. */
export class Explanations {
  /** @param {(url: string) => Promise<Response>} get */
  constructor(get) {
    this.get = get;
    this.digest = "";
    /** @type {Promise<Explained[]> | null} */
    this.asked = null;
  }

  /**
   * @param {string} digest of the solo
   * @returns {Promise<Explained[]>} rejected, in words, where it cannot be had; then it is asked for again the next time
   */
  of(digest) {
    if (this.asked === null || this.digest !== digest) {
      this.digest = digest;
      const asked = this.#fetch(digest);
      this.asked = asked;
      asked.catch(() => {
        if (this.asked === asked) {
          this.asked = null;
        }
      });
    }
    return this.asked;
  }

  /** @param {string} digest */
  async #fetch(digest) {
    const answer = await this.get(`arrangements/${digest}.explain.json`);
    return /** @type {Explained[]} */ ((await answer.json()).measures);
  }
}

/**
 * All that is said of a measure. One that repeats another says so first, and then what is said of that one, of its own
 * plucks.
 *
 * @param {Explained[]} all
 * @param {number} number
 * @returns {Sentence[]}
 */
export function sentencesOf(all, number) {
  const own = all.find((one) => one.number === number);
  if (own === undefined) {
    return [];
  }
  const same = all.find((one) => one.number === own.same_as);
  const borrowed = (same?.sentences ?? []).map(({ text, plucks }) => ({
    text,
    plucks: plucks.map((id) => id.replace(/^m\d+e/, `m${number}e`)),
  }));
  return [...own.sentences, ...borrowed];
}

/**
 * The sentences that are about a pluck.
 *
 * @param {Sentence[]} sentences
 * @param {string} id
 * @returns {string[]}
 */
export function about(sentences, id) {
  return sentences.filter((sentence) => sentence.plucks.includes(id)).map((sentence) => sentence.text);
}
