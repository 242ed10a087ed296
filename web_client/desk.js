/**
 * Puts the teacher's desk together.
 *
 * @module desk
 */

import { whoIsHere } from "./asked.js";
import { now } from "./clock.js";
import { DESK } from "./desk_english.js";
import { LicksView } from "./desk_licks.js";
import { NowView } from "./desk_now.js";
import { OpenView } from "./desk_open.js";
import { PeopleView } from "./desk_people.js";
import { VIEWS, placeOf } from "./desk_place.js";
import { SetView } from "./desk_set.js";
import { TunesView } from "./desk_tunes.js";
import { byId } from "./dom.js";
import { Sound } from "./sound.js";
import { Wire, openSocket } from "./wire.js";

/** @typedef {import("./messages.js").Message} Message */

/** Milliseconds after which the first cards have come, where there are any. */
const HERE_BY = 700;

/** Milliseconds after which it is asked again whether words that are pinned were read. */
const READ_EVERY = 15_000;

let studio = "";
let digest = "";
let me = "";
let place = /** @type {import("./desk_place.js").View | ""} */ ("");

/** @param {string} words empty to take them away */
function say(words) {
  byId("notice").textContent = words;
  byId("notice").hidden = words === "";
}

const wire = new Wire({
  session: "",
  seat: "desk",
  first: { kind: "desk" },
  open: () => openSocket(location),
  now,
  later: (run, ms) => setTimeout(run, ms),
  onMessage: take,
  onLine: (up) => {
    document.body.classList.toggle("offline", !up);
    say(up ? "" : studio === "" ? DESK.line.connecting : DESK.line.lost);
  },
});

const nowView = new NowView();
const openView = new OpenView(new Sound({}), { send: (message) => wire.send(message), say });
const setView = new SetView();
const peopleView = new PeopleView(() => me);
const tunesView = new TunesView();
const licksView = new LicksView();

/** @param {Message} message of the service */
function take(message) {
  switch (message.kind) {
    case "desk_hello":
      if (digest !== "" && message.page_digest !== digest) {
        say(DESK.line.newer);
        reload();
      }
      digest ||= message.page_digest;
      studio = message.studio;
      byId("studio-name").textContent = studio;
      title();
      nowView.meet();
      setTimeout(() => nowView.settle(), HERE_BY); // the cards follow it
      openView.joined();
      break;
    case "card": {
      const card = /** @type {any} */ (message);
      nowView.take(card);
      if (card.student === openView.student) {
        card.gone ? location.replace("#now") : openView.know(card);
      }
      break;
    }
    case "live":
      if (message.student === openView.student) {
        openView.live(message.message);
      }
      break;
    case "sounded":
      if (message.student === openView.student) {
        openView.hear.take(/** @type {any} */ (message));
      }
      break;
    case "steered":
      if (message.student === openView.student) {
        openView.steered(/** @type {any} */ (message));
      }
      break;
    case "failure":
      say(message.text);
      break;
  }
}

/** Fetches a newer desk, as soon as nothing is looked at or written. */
function reload() {
  if (place === "now" && byId("notice").textContent === DESK.line.newer) {
    location.reload();
  }
}

function title() {
  const view = place === "open" ? openView.name || DESK.titles.open : place === "" ? "" : DESK.titles[place];
  document.title = DESK.title(view, studio);
}

/**
 * Goes where the address says.
 *
 * @param {boolean} first whether the page has just come
 */
function go(first) {
  const wanted = placeOf(location.hash);
  if (wanted === null) {
    return;
  }
  const changed = place !== wanted.view;
  if (changed && !first && wire.joined && byId("notice").textContent !== DESK.line.newer) {
    say(""); // what was said is of the view before
  }
  place = wanted.view;
  for (const view of VIEWS) {
    byId(`view-${view}`).hidden = view !== place;
  }
  for (const link of document.querySelectorAll("[data-view]")) {
    const here = /** @type {HTMLElement} */ (link).dataset.view === (place === "open" ? "now" : place);
    here ? link.setAttribute("aria-current", "page") : link.removeAttribute("aria-current");
  }
  openView.look(place === "open" ? wanted.student : "");
  if (place === "open") {
    const card = nowView.cards.get(wanted.student);
    card && openView.know(card);
  } else if (place === "now") {
    changed && nowView.order();
    reload();
  } else if (changed || place === "set") {
    void { set: () => setView.open(wanted.student), people: () => peopleView.open(), tunes: () => Promise.all([tunesView.open(), licksView.renew()]) }[place]();
  }
  title();
  if (!first) {
    window.scrollTo(0, 0);
    byId(`${place}-head`).focus({ preventScroll: true });
  }
}

byId("skip").addEventListener("click", (/** @type {Event} */ event) => {
  event.preventDefault(); // the address says which view is shown
  byId("desk").focus();
});
window.addEventListener("hashchange", () => go(false));
window.addEventListener("offline", () => wire.drop());
window.addEventListener("focus", () => void openView.pins.renew());
setInterval(() => wire.check(), 1000);
setInterval(() => void (document.hidden || openView.pins.renew()), READ_EVERY);
say(DESK.line.connecting);
go(true);
wire.connect();
void whoIsHere().then(
  ({ person }) => {
    me = person?.id ?? "";
    byId("to-account").textContent = person?.name ?? "";
  },
  () => {}, // the line says what is wrong
);
