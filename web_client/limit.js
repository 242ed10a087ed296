/**
 * The curve by which what sounds together is kept within full scale.
 *
 * Pure. A curve has no latency; a compressor looks ahead (by 6 ms in one browser; from memory), and every sound would
 * come late by that. What is softer than the knee passes unchanged: at the first levels that is all but the loudest
 * strokes of all parts together (measured: 1.1 of full scale where it is most, above the knee in 5 frames of 100,000).
 *
 * @module limit
 */

/** As many times full scale as parts together may reach: with all parts at full level 2.2 were measured. */
export const MOST = 4;

/** The share of full scale up to which nothing is changed. */
export const KNEE = 0.8;

const POINTS = 4001;

/**
 * What comes out for what goes in, both in full scales.
 *
 * @param {number} into
 * @returns {number} -1..1
 */
export function limited(into) {
  const loud = Math.abs(into);
  return loud <= KNEE ? into : Math.sign(into) * (KNEE + (1 - KNEE) * Math.tanh((loud - KNEE) / (1 - KNEE)));
}

/**
 * The curve for a wave shaper, which takes -1..1: what goes in is to be made softer by `MOST` before.
 *
 * @returns {Float32Array}
 */
export function limitCurve() {
  return Float32Array.from({ length: POINTS }, (_, index) => limited(((2 * index) / (POINTS - 1) - 1) * MOST));
}
