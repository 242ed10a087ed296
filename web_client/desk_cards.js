/**
 * The students of a desk: who comes first, without moving what is being looked at, and what is said of all together.
 *
 * Pure: no document.
 *
 * @module desk_cards
 */

/**
 * @typedef {{tune: string, tier: string, tempo: number, first: number, clean: boolean[], whole: boolean,
 *   marked?: boolean}} PassStrip
 * A pass: of each measure that was played, from the first, whether it was clean; of one that the student `marked`, of
 * the whole of it.
 *
 * @typedef {{student: string, name: string, here: boolean, state: string, tune: string, title: string, tier: string,
 *   mix: number[], tempo: number, first: number, last: number, measures: number, measure: number | null, marks: PassStrip | null,
 *   strips: PassStrip[], stuck: number | null, times: number, practised: string, watched: boolean}} Card
 * A student at a glance, as the service tells it.
 */

/**
 * The order in which they are looked at best: those at practice first, of them those who are stuck first; else by name.
 *
 * @param {Iterable<Card>} cards
 * @returns {Card[]}
 */
export function ordered(cards) {
  const byName = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  const before = (/** @type {Card} */ card) => (card.here ? (card.stuck === null ? 1 : 0) : 2);
  return [...cards].sort(
    (a, b) => before(a) - before(b) || byName.compare(a.name, b.name) || (a.student < b.student ? -1 : 1),
  );
}

/**
 * The order in which they stay while they are looked at: nobody who is shown changes places with another; who is new
 * comes behind the one that is before them in the best order, who is gone is left out.
 *
 * @param {string[]} shown ids in the order in which they are shown
 * @param {string[]} best ids in the best order
 * @returns {string[]}
 */
export function settled(shown, best) {
  const kept = shown.filter((id) => best.includes(id));
  for (const [at, id] of best.entries()) {
    if (!kept.includes(id)) {
      kept.splice(at === 0 ? 0 : kept.indexOf(best[at - 1]) + 1, 0, id);
    }
  }
  return kept;
}

/**
 * Who stands among those who are away, and has come to practise.
 *
 * @param {string[]} shown ids in the order in which they are shown
 * @param {Map<string, string>} places where each stands, by id
 * @param {Map<string, Card>} cards
 * @returns {string[]} ids by the order in which they are shown
 */
export function whoCame(shown, places, cards) {
  return shown.filter((id) => places.get(id) === "away" && cards.get(id)?.here);
}

/**
 * Who stands elsewhere than they should, and why: they have come since, are gone, or are stuck, or are not any more.
 *
 * @param {string[]} shown ids in the order in which they are shown
 * @param {Map<string, string>} places `"stuck"`, `"here"` or `"away"`, by id, when the order was made; `"come"` of those
 *   who came since
 * @param {Map<string, Card>} cards
 * @returns {{come: Card[], gone: Card[], stuck: Card[], free: Card[]}} by the order in which they are shown
 */
export function moved(shown, places, cards) {
  /** @type {{come: Card[], gone: Card[], stuck: Card[], free: Card[]}} */
  const found = { come: [], gone: [], stuck: [], free: [] };
  for (const id of shown) {
    const card = cards.get(id);
    const [was, is] = [places.get(id), card && placeOf(card)];
    if (card !== undefined && was !== undefined && was !== is) {
      found[is === "stuck" ? "stuck" : is === "away" ? "gone" : was === "come" ? "come" : "free"].push(card);
    }
  }
  return found;
}

/**
 * Where somebody belongs.
 *
 * @param {Card} card
 * @returns {"stuck" | "here" | "away"}
 */
export function placeOf(card) {
  return !card.here ? "away" : card.stuck === null ? "here" : "stuck";
}

/**
 * How many there are.
 *
 * @param {Iterable<Card>} cards
 * @returns {{all: number, here: number, stuck: Card[]}}
 */
export function counts(cards) {
  const all = [...cards];
  return { all: all.length, here: all.filter(({ here }) => here).length, stuck: ordered(all).filter((card) => placeOf(card) === "stuck") };
}
