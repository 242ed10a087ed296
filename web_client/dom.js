/**
 * Small helpers for the document.
 *
 * @module dom
 */

const SVG = "http://www.w3.org/2000/svg";

/**
 * The element of an id that the page is known to hold.
 *
 * @param {string} id
 * @returns {any}
 */
export function byId(id) {
  const found = document.getElementById(id);
  if (found === null) {
    throw new Error(`the page has no element ${JSON.stringify(id)}`);
  }
  return found;
}

/**
 * Makes an HTML element.
 *
 * @param {string} tag
 * @param {Record<string, any>} [with_] properties, and attributes where the name has a dash or is `role`
 * @param {...(Node | string)} inside
 * @returns {any}
 */
export function element(tag, with_ = {}, ...inside) {
  const made = /** @type {any} */ (document.createElement(tag));
  for (const [name, value] of Object.entries(with_)) {
    if (name.includes("-") || name === "role") {
      made.setAttribute(name, String(value));
    } else {
      made[name] = value;
    }
  }
  made.append(...inside);
  return made;
}

/**
 * Makes an SVG element.
 *
 * @param {string} tag
 * @param {Record<string, string | number>} attributes
 * @param {...(Node | string)} inside
 * @returns {SVGElement}
 */
export function drawn(tag, attributes, ...inside) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) {
    made.setAttribute(name, String(value));
  }
  made.append(...inside);
  return made;
}

/**
 * Has a button do something whenever it {@link allow may} be pressed.
 *
 * @param {HTMLButtonElement} button
 * @param {() => void} run
 */
export function onPress(button, run) {
  button.addEventListener("click", () => {
    if (button.getAttribute("aria-disabled") !== "true") {
      run();
    }
  });
}

/**
 * Lets a button be pressed, or not. One that may not keeps the focus, unlike one that is disabled: else the next key of
 * whoever pressed it would be one of the transport's, and start a pass.
 *
 * @param {HTMLButtonElement} button
 * @param {boolean} may
 */
export function allow(button, may) {
  button.setAttribute("aria-disabled", String(!may));
}

/**
 * How to scroll: at once where the player asked for little motion.
 *
 * @returns {"auto" | "smooth"}
 */
export function calm() {
  return window.matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth";
}

/**
 * Adds a sheet of style to the page, once.
 *
 * @param {string} href
 * @returns {Promise<void>} fulfilled when it counts
 */
export function styled(href) {
  if (document.querySelector(`link[href="${href}"]`) !== null) {
    return Promise.resolve();
  }
  return new Promise((done, failed) => {
    const link = element("link", { rel: "stylesheet", href });
    link.onload = () => done();
    link.onerror = () => {
      link.remove();
      failed(new Error(href));
    };
    document.head.append(link);
  });
}
