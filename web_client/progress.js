/**
 * The page of progress: fetches what the service knows of a player and has it drawn.
 *
 * @module progress
 */

import { byId, element } from "./dom.js";
import { climbPicture } from "./progress_climb.js";
import { dayHere, dayOf } from "./progress_days.js";
import { glance } from "./progress_glance.js";
import { GRID_TOP, gridPicture } from "./progress_grid.js";
import { minutesPicture } from "./progress_minutes.js";
import { READY_TOP, readyPicture } from "./progress_ready.js";
import { Figure, tableOf } from "./progress_view.js";
import { WORDS } from "./english.js";
import { sessionOf } from "./seat.js";
import { TIERS } from "./tiers.js";

/**
 * @typedef {import("./progress_picture.js").Progress} Progress
 * @typedef {import("./tiers.js").Tier} Tier
 */

/** Days that are shown, today among them; null for all. */
const PERIODS = Object.freeze(/** @type {Record<string, number | null>} */ ({ all: null, quarter: 91, month: 28 }));

/** The width of the pictures on paper, in pixels: an upright page of A4 or Letter without its margins. */
const ON_PAPER = 680;

const session = sessionOf(location);
const form = byId("shown");
const figures = {
  climb: new Figure(byId("climb"), WORDS.climb.none),
  grid: new Figure(byId("grid"), WORDS.grid.none),
  ready: new Figure(byId("ready"), WORDS.ready.none),
  minutes: new Figure(byId("minutes"), WORDS.minutes.none),
};

/** What is shown. */
let progress = /** @type {Progress | null} */ (null);
/** The tier that is shown, where tiers are apart. */
let tier = /** @type {Tier} */ (TIERS[0]);
/** Whether the page is being printed. */
let onPaper = false;
/** The newest question to the service: an older one's answer counts no more. */
let asking = new AbortController();

/**
 * An address of this player.
 *
 * @param {string} path
 * @param {string} [tune]
 */
function address(path, tune = "") {
  const query = new URLSearchParams({ session, ...(tune === "" ? {} : { tune }) });
  return `${path}?${query}`;
}

/** @param {string} words empty to take them away */
function say(words) {
  byId("words").textContent = words;
  byId("words").hidden = words === "";
}

/**
 * Asks the service and shows its answer.
 *
 * @param {string} tune empty for the one that was played last
 */
async function load(tune) {
  asking.abort();
  asking = new AbortController();
  const { signal } = asking;
  try {
    const response = await fetch(address("progress.json", tune), { signal });
    const answer = await response.json();
    if (signal.aborted) {
      return;
    }
    if (response.ok) {
      take(answer);
    } else {
      say(answer.text);
    }
  } catch (error) {
    if (!signal.aborted) {
      say(WORDS.page.away);
    }
  }
}

/** @param {Progress} answer */
function take(answer) {
  const other = answer.tune !== progress?.tune;
  progress = answer;
  const lines = [...answer.climb, ...answer.passes, ...answer.ready];
  const there = TIERS.filter((one) => lines.some((line) => line.tier === one));
  if (other || !there.includes(tier)) {
    tier = answer.passes.at(-1)?.tier ?? there[0] ?? TIERS[0];
  }
  const nothing = answer.tunes.length === 0;
  const unplayed = answer.title === "";
  say(nothing ? WORDS.page.nothing : unplayed ? WORDS.page.unplayed : "");
  byId("tunes").hidden = nothing;
  byId("margin").hidden = nothing;
  byId("pictures").hidden = unplayed;
  byId("at-a-glance").hidden = unplayed;
  document.title = WORDS.page.title(answer.title);
  byId("title").textContent = WORDS.page.title(answer.title);
  showChoices(answer, there);
  showTunes(answer);
  draw();
}

/**
 * @param {Progress} answer
 * @param {Tier[]} there
 */
function showChoices(answer, there) {
  const { tune } = form.elements;
  tune.replaceChildren(...answer.tunes.map(({ id, title }) => element("option", { value: id }, title)));
  tune.value = answer.tune;
  byId("tiers").hidden = there.length < 2;
  const chosen = document.activeElement?.closest("#tiers") !== null;
  byId("tiers").replaceChildren(
    element("legend", {}, WORDS.page.tier),
    ...there.map((value) =>
      element(
        "label",
        {},
        element("input", { type: "radio", name: "tier", value, checked: value === tier }),
        element("span", {}, WORDS.tier(value)),
      ),
    ),
  );
  if (chosen) {
    byId("tiers").querySelector(":checked")?.focus();
  }
  const first = Math.min(...answer.days.map(({ day }) => dayOf(day)));
  byId("periods").hidden = dayHere(new Date()) - first < /** @type {number} */ (PERIODS.month);
}

/** @param {Progress} answer */
function showTunes(answer) {
  const most = Math.max(...answer.tunes.map(({ minutes }) => minutes));
  const today = dayHere(new Date());
  const rows = answer.tunes.map(({ id, title, passes, minutes, last }) => {
    const link = () => element("a", { href: address("progress.html", id) }, title);
    const bar = element("span", { className: "amount", "aria-hidden": "true" });
    bar.style.width = `${(100 * minutes) / most}%`;
    return [
      id === answer.tune ? element("strong", {}, title) : link(),
      element("span", { className: "amounts" }, bar, WORDS.minutes.long(minutes)),
      String(passes),
      WORDS.dateAnyYear(dayOf(last), today),
    ];
  });
  byId("tunes-table").replaceChildren(tableOf({ head: WORDS.tunes.head, rows }));
}

/** Draws everything: on paper the pictures stand under each other, else they take the room that they have. */
function draw() {
  if (progress === null || progress.title === "") {
    return;
  }
  byId("glance-head").textContent = WORDS.glance.head(progress.title);
  const { goal, passes, climb, days, tune, title } = progress;
  // The service's day can be one ahead of this page's, which may be looked at from somewhere else.
  const today = Math.max(dayHere(new Date()), ...days.map(({ day }) => dayOf(day)));
  const count = progress.tunes.find(({ id }) => id === tune)?.passes ?? passes.length;
  const back = byId("periods").hidden ? null : PERIODS[new FormData(form).get("period")?.toString() ?? "all"];
  const from = back === null ? null : today - back + 1;
  const ready = progress.ready.filter((line) => line.tier === tier);
  const known = [...progress.measures, ...progress.ready.map(({ measure }) => measure)];
  const measures = [...new Set(known)].sort((one, other) => one - other);
  const beside = figures.ready.figure.offsetTop === figures.grid.figure.offsetTop && !onPaper;
  const wide = (/** @type {Figure} */ figure) => (onPaper ? ON_PAPER : figure.width);

  figures.climb.show(climbPicture(climb, goal, { width: wide(figures.climb), from, today }), WORDS.climb.name);
  figures.grid.show(gridPicture(passes, count, measures, goal, wide(figures.grid)), WORDS.grid.name);
  const top = beside ? GRID_TOP : READY_TOP;
  figures.ready.show(readyPicture(ready, measures, goal, { width: wide(figures.ready), top }), WORDS.ready.name);
  const own = { id: tune, title };
  const minutes = minutesPicture(days, own, { width: wide(figures.minutes), from, today });
  figures.minutes.show(minutes, WORDS.minutes.name("day"));
  byId("glance").replaceChildren(...glance(progress, tier, today).map((words) => element("p", {}, words)));
}

form.addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
form.addEventListener("change", (/** @type {Event} */ event) => {
  const { name, value } = /** @type {HTMLInputElement} */ (event.target);
  if (name === "tune") {
    history.replaceState(null, "", address(location.pathname, value));
    void load(value);
  } else {
    tier = name === "tier" ? /** @type {Tier} */ (value) : tier;
    draw();
  }
});

let drawnAt = 0;
new ResizeObserver(() => {
  if (figures.climb.width !== drawnAt) {
    drawnAt = figures.climb.width; // the pictures change the height themselves, which is no reason to draw again
    draw();
  }
}).observe(byId("pictures"));
for (const event of ["beforeprint", "afterprint"]) {
  window.addEventListener(event, () => {
    onPaper = event === "beforeprint";
    draw();
  });
}
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" && progress !== null) {
    void load(progress.tune); // there may be more passes by now
  }
});

byId("back").href = address("./");
say(WORDS.page.loading);
void load(new URLSearchParams(location.search).get("tune") ?? "");
