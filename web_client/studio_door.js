/**
 * The door to what a teacher does for a student: fetched where the service has a studio, and nowhere else.
 *
 * @module studio_door
 */

import { byId, styled } from "./dom.js";
import { TEXT } from "./english.js";

/**
 * Fetches it with the greeting of the service. That a teacher listens is told here: it must be seen whatever can be
 * fetched.
 */
export class StudioDoor {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(view: typeof import("./studio.js").StudioView) => void} make puts together what is behind the door
   * @param {(words: string) => void} say told why it cannot be opened
   */
  constructor(practice, make, say) {
    const sign = byId("watched");
    practice.on("watched", ({ by }) => {
      sign.hidden = by.length === 0;
      sign.textContent = by.length === 0 ? "" : TEXT.watched(by);
    });
    practice.on("line", (up) => {
      if (!up) {
        sign.hidden = true; // who listens is told anew when the line is back
      }
    });
    let asked = false;
    practice.on("hello", async (hello) => {
      if (hello.studio && !asked) {
        asked = true;
        try {
          const [{ StudioView }] = await Promise.all([import("./studio.js"), styled("studio.css")]);
          make(StudioView);
        } catch {
          asked = false; // the next greeting tries again
          say(TEXT.line.unreachable);
        }
      }
    });
  }
}
