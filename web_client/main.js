/**
 * Puts the page together.
 *
 * @module main
 */

import { Chooser } from "./chooser.js";
import { now } from "./clock.js";
import { byId, element } from "./dom.js";
import { DrillView } from "./drill.js";
import { freeKeys } from "./focus.js";
import { TRANSPORT_KEYS } from "./keyboard.js";
import { LearnView } from "./learn.js";
import { showLegend } from "./legend.js";
import { MeasureChoice } from "./mix.js";
import { Pad } from "./pad.js";
import { PlaceView } from "./place.js";
import { ReportView } from "./report.js";
import { RungView, meterOf } from "./rung.js";
import { seatOf, sessionOf } from "./seat.js";
import { SettingsView, ownSettings } from "./settings.js";
import { Sheet, calm } from "./sheet.js";
import { SittingView } from "./sitting.js";
import { Sound } from "./sound.js";
import { Practice } from "./state.js";
import { Strip } from "./strip.js";
import { TEXT } from "./texts.js";
import { tiersOf } from "./tiers.js";
import { Transport } from "./transport.js";
import { Wake } from "./wake.js";
import { Watermark } from "./watermark.js";
import { Wire, openSocket } from "./wire.js";

const session = sessionOf(location);
const practice = new Practice();
const sound = new Sound(ownSettings());
const wire = new Wire({
  session,
  seat: seatOf(sessionStorage, performance),
  open: () => openSocket(location),
  now,
  later: (run, ms) => setTimeout(run, ms),
  onMessage: (message) => practice.take(message),
  onLine: (up) => practice.line(up),
});

// ------------------------------------------------------------------------------------------------ what is shown

const notice = byId("notice");
const live = byId("live");
const sheet = new Sheet(byId("sheet"), () => byId("foot").getBoundingClientRect().height);
const strip = new Strip(byId("strip"), (measure) => {
  choice.choose(measure);
  sheet.reveal(measure);
});
const choice = new MeasureChoice(practice, (measure) => strip.words(measure), change);
const place = new PlaceView(practice, sheet, strip, new Transport(practice, act));
const narrow = matchMedia("(max-width: 720px)");
const wake = new Wake(navigator.wakeLock, document);

/** The sheet that is shown or being fetched. */
let shownDigest = "";
/** The pass whose report was brought into view. */
let shownPass = 0;

/**
 * @param {string} words empty to take it away
 */
function say(words) {
  notice.textContent = words;
  notice.hidden = words === "";
}

/** Takes away what was said to the player, who has gone on; but not that the line is down. */
function heed() {
  if (practice.up) {
    say("");
  }
}

async function showSheet() {
  const { state } = practice;
  if (state === null) {
    return;
  }
  shownDigest = state.digest;
  byId("title").textContent = state.title || TEXT.sheet.untitled;
  if (state.digest === "") {
    sheet.say(state.waiting || TEXT.sheet.writing);
    strip.show([], new Map());
    choice.renew();
    for (const told of ["facts", "remarks", "papers"]) {
      byId(told).replaceChildren();
    }
    return;
  }
  try {
    const arrangement = await sheet.load(state.digest, narrow.matches ? "narrow" : "wide");
    if (arrangement !== null) {
      byId("facts").textContent = TEXT.sheet.facts(arrangement);
      byId("remarks").textContent = arrangement.remarks.join(" ");
      byId("papers").replaceChildren(TEXT.sheet.papers, ...papersOf(arrangement));
      practice.read(arrangement.meter);
      pad.tune(arrangement);
      strip.show(arrangement.measures.map((/** @type {any} */ measure) => measure.number), tiersOf(arrangement));
      showScores();
    }
  } catch (error) {
    if (shownDigest === state.digest) {
      sheet.say(TEXT.sheet.failed(/** @type {Error} */ (error).message));
    }
  }
}

/**
 * Links to the solo on paper and in open formats.
 *
 * @param {any} arrangement
 * @returns {HTMLElement[]}
 */
function papersOf(arrangement) {
  return TEXT.sheet.kinds.map(([suffix, words]) =>
    element(
      "a",
      {
        href: `arrangements/${arrangement.digest}.${suffix}`,
        download: `${arrangement.tune}-${arrangement.tier}.${suffix}`,
      },
      words,
    ),
  );
}

/** Brings strip and report into view after a pass; with the pad open on a small screen, strip and sheet. */
function showHowItWent() {
  const { playing, report } = practice;
  if (playing || report === null || report.number === shownPass) {
    return;
  }
  shownPass = report.number;
  strip.rest();
  byId("margin").scrollTop = 0; // the report is its first slip
  if (narrow.matches && !byId("pad").hidden) {
    showStrip();
  } else {
    window.scrollTo({ top: 0, behavior: calm() });
  }
}

/** Scrolls to the strip, with the sheet below it. */
function showStrip() {
  byId("strip").scrollIntoView({ behavior: calm(), block: "start" });
}

function showScores() {
  strip.clear();
  for (const [number, score] of practice.scores) {
    strip.score(number, score);
  }
  if (practice.state !== null) {
    strip.range(practice.state.first, practice.state.last);
  }
  choice.renew();
}

// ------------------------------------------------------------------------------------------------ what is asked

/**
 * @param {Record<string, any>} settings
 */
function change(settings) {
  heed();
  if (!wire.send({ kind: "settings", ...settings })) {
    byId("waiting").textContent = TEXT.chooser.notNow;
  }
}

/**
 * @param {import("./transport.js").Action} action
 */
function act(action) {
  heed();
  const { going, state } = practice;
  switch (action) {
    case "toggle":
      wire.send(going ? { kind: "stop" } : { kind: "start", sounds: state?.sound === "page" });
      break;
    case "stop":
      wire.send({ kind: "stop" });
      break;
    case "again":
      if (!byId("again").disabled) {
        wire.send({ kind: "again" });
      }
      break;
    case "next":
      if (!byId("next").disabled) {
        wire.send({ kind: "next_rung" });
      }
      break;
    case "clean":
    case "unclean":
      if (!byId("self-mark").hidden) {
        wire.send({ kind: "mark", clean: action === "clean" });
      }
      break;
  }
}

/**
 * Whether a key belongs to the part of the page that has the focus.
 *
 * @param {KeyboardEvent} event
 */
function taken(event) {
  const target = /** @type {HTMLElement} */ (event.target);
  if (event.altKey || event.ctrlKey || event.metaKey || document.querySelector("dialog[open]") !== null) {
    return true; // a dialog that is open has all keys, also where nothing in it has the focus
  }
  if (target.matches("#chooser input[type=radio]:checked") && !event.code.startsWith("Arrow")) {
    return false; // a tier that is chosen has no more use for the keys of the transport
  }
  if (target.closest("input:not([type=range]), select")) {
    return true;
  }
  const button = target.closest("button, a, summary, input, label") !== null;
  return button && (event.code === "Space" || event.code === "Enter" || event.code.startsWith("Arrow"));
}

document.addEventListener("keydown", (event) => {
  if (taken(event)) {
    return;
  }
  const action = TRANSPORT_KEYS[/** @type {keyof typeof TRANSPORT_KEYS} */ (event.code)];
  if (action !== undefined) {
    if ((action === "clean" || action === "unclean") && byId("self-mark").hidden) {
      return; // the arrows scroll
    }
    event.preventDefault();
    if (!event.repeat) {
      act(/** @type {import("./transport.js").Action} */ (action));
    }
  } else if (!byId("pad").hidden && pad.key(event)) {
    event.preventDefault();
  }
});

// ------------------------------------------------------------------------------------------------ sound and pad

for (const touch of /** @type {const} */ (["pointerdown", "keydown"])) {
  document.addEventListener(touch, () => void sound.turnOn().catch(() => say(TEXT.sound.failed)), { capture: true });
}

const watermark = new Watermark(now, (stamp) => {
  if (practice.playing) {
    wire.watermark(stamp);
  }
});
const pad = new Pad(byId("board"), (stamp, data) => {
  wire.note(stamp, data);
  if (settings.own.padSounds) {
    sound.pluck(data[1], 0.8);
  }
});

/** @param {boolean} open */
function showPad(open) {
  byId("pad").hidden = !open;
  document.body.classList.toggle("pad-open", open);
  byId("open-pad").setAttribute("aria-expanded", String(open));
  if (open && narrow.matches && !practice.playing) {
    showStrip(); // the pad leaves little room: it is the sheet's
  }
}

byId("open-pad").addEventListener("click", () => showPad(byId("pad").hidden));
byId("no-port-pad").addEventListener("click", () => showPad(true));
byId("no-port-mark").addEventListener("click", () => change({ self_marked: true }));
byId("reach").addEventListener("click", () => {
  const high = byId("board").classList.toggle("high");
  byId("reach").textContent = high ? TEXT.pad.low : TEXT.pad.high;
});

// ------------------------------------------------------------------------------------------------ what is told

new Chooser(practice, change);
new ReportView(practice, (clean) => wire.send({ kind: "mark", clean }));
new RungView(practice);
new SittingView(practice, (message) => {
  heed();
  wire.send(message);
});
new DrillView(practice, session, change);
new LearnView(practice, (message) => wire.send(message), () => showPad(true));
const settings = new SettingsView(practice, change, (own) => sound.setLoudness(own.loudness));

practice.on("line", (up) => {
  document.body.classList.toggle("offline", !up);
  say(up ? "" : practice.hello === null ? TEXT.line.connecting : TEXT.line.lost);
});
practice.on("hello", (hello) => {
  if (hello.page_digest !== practice.hello.page_digest) {
    say(TEXT.line.newer);
    reloadBetweenPasses();
  }
});
practice.on("state", (state) => {
  if (state.digest !== shownDigest || state.digest === "") {
    void showSheet();
  }
  strip.range(state.first, state.last);
  document.body.classList.toggle("playing", practice.playing);
  wake.keep(practice.playing);
  if (!practice.playing) {
    sound.stop();
    if (notice.textContent === TEXT.sound.off) {
      say("");
    }
  }
  showHowItWent();
  reloadBetweenPasses();
});
practice.on("begin", ({ begin, again }) => void begun(begin, again));
practice.on("verdict", ({ verdict, faint }) => sheet.mark(verdict, faint));
practice.on("measure", (score) => strip.score(score.number, score));
practice.on("report", (report) => {
  sheet.settle();
  showScores();
  live.textContent = TEXT.report.aloud(report, {
    unmarked: practice.unmarked !== 0,
    jam: practice.jam,
    meter: meterOf(report.rung, practice.tunes, practice.meter),
  });
  showHowItWent();
});
practice.on("failure", (failure) => {
  say(failure.text);
});
practice.on("foot", (foot) => {
  byId("foot-words").textContent = TEXT.foot.pressed(foot.switch, foot.did);
});

/**
 * A pass begins, or is told once more.
 *
 * @param {import("./messages.js").Begin} begin
 * @param {boolean} again
 */
async function begun(begin, again) {
  if (!again) {
    say("");
    place.origin = null;
  }
  if (!again && !begin.learning) {
    sheet.clear();
    strip.clear();
    choice.leave();
    if (narrow.matches) {
      for (const form of ["choice", "sitting", "drill"]) {
        byId(form).open = false; // after the pass it would stand between the report and the strip
      }
    }
    sheet.begin(begin.first);
  }
  place.origin = begin.origin ?? place.origin;
  place.show();
  if (begin.sounds && sound.playing !== begin.number) {
    if (navigator.userActivation?.hasBeenActive === false) {
      say(TEXT.sound.off);
    }
    const heard = await sound.play(begin);
    if (heard !== null) {
      say("");
      place.origin = heard;
      if (begin.origin === null) {
        wire.send({ kind: "sounding", number: begin.number, origin: heard });
      }
    }
  }
}

/** Fetches a newer page, when there is one and no pass is going on. */
function reloadBetweenPasses() {
  if (!practice.playing && notice.textContent === TEXT.line.newer) {
    location.reload();
  }
}

narrow.addEventListener("change", () => void showSheet());
window.addEventListener("offline", () => wire.drop());

byId("to-progress").href = `progress.html?session=${session}`;
freeKeys(document);
byId("choice").open = !narrow.matches;
showLegend(byId("legend"));
say(TEXT.line.connecting);
setInterval(() => wire.check(), 1000);
watermark.run();
wire.connect();
