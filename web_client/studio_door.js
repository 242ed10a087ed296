/**
 * The door to what a teacher does for a student: fetched where the service has a studio, and nowhere else.
 *
 * @module studio_door
 */

import { styled } from "./dom.js";
import { TEXT } from "./english.js";

/** Fetches it with the greeting of the service. */
export class StudioDoor {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(view: typeof import("./studio.js").StudioView) => void} make puts together what is behind the door
   * @param {(words: string) => void} say told why it cannot be opened
   */
  constructor(practice, make, say) {
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
