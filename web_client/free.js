/**
 * What the page shows of a pass in free time: how fast each measure was.
 *
 * @module free
 */

import { element } from "./dom.js";
import { TEXT } from "./english.js";

/** @typedef {import("./messages.js").Report} Report */

/**
 * Shows the player's tempo measure by measure, each with a line as long as it is fast.
 *
 * @param {HTMLElement} view hidden where there is nothing to show
 * @param {HTMLElement} list
 * @param {Report | null} report
 */
export function showTempos(view, list, report) {
  const measures = report?.free ? report.measures : [];
  const known = measures.flatMap(({ tempo }) => (typeof tempo === "number" ? [tempo] : []));
  const most = Math.max(...known, 1);
  view.hidden = known.length === 0;
  list.replaceChildren(
    ...measures.map(({ number, tempo = null }) => {
      const whole = tempo === null ? null : Math.round(tempo);
      const line = element("span", { className: "tempo-line", "aria-hidden": "true" });
      line.style.width = `${(100 * (tempo ?? 0)) / most}%`;
      return element(
        "li",
        {},
        element("span", { className: "unseen" }, TEXT.free.measure(number, whole)),
        element("span", { className: "tempo-measure", "aria-hidden": "true" }, String(number)),
        element("span", { className: "tempo-value", "aria-hidden": "true" }, whole === null ? "–" : String(whole)),
        line,
      );
    }),
  );
}
