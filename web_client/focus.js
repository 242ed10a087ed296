/**
 * Keeps the keys of the transport free for players who use mouse or touch.
 *
 * A button that was clicked has the focus, and the next Space would press it again instead of starting the pass. So a
 * click by a pointer leaves the focus nowhere; whoever goes by keys keeps it.
 *
 * @module focus
 */

/**
 * Lets buttons go after a click by mouse or touch, also the one to which a closed dialog gives the focus back.
 *
 * @param {Document} page
 */
export function freeKeys(page) {
  let pointed = false;
  page.addEventListener("pointerdown", () => (pointed = true), { capture: true });
  page.addEventListener("keydown", () => (pointed = false), { capture: true });
  const letGo = () => {
    if (pointed && page.activeElement instanceof HTMLButtonElement) {
      page.activeElement.blur();
    }
  };
  page.addEventListener("click", letGo);
  page.addEventListener("close", letGo, { capture: true });
}
