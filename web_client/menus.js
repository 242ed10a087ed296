/**
 * The slips that open over the sheet: one at a time, closed by a touch beside them or by Escape.
 *
 * @module menus
 */

/** @param {HTMLDetailsElement[]} menus */
export function closeByThemselves(menus) {
  const open = () => menus.find((menu) => menu.open);
  document.addEventListener("pointerdown", (event) => {
    const menu = open();
    if (menu !== undefined && !menu.contains(/** @type {Node} */ (event.target))) {
      menu.open = false;
    }
  });
  document.addEventListener("keydown", (event) => {
    const menu = open();
    if (menu !== undefined && event.key === "Escape" && document.querySelector("dialog[open]") === null) {
      menu.open = false;
      menu.querySelector("summary")?.focus();
    }
  });
}
