/**
 * Puts the page together.
 *
 * @module main
 */

import { Actions } from "./actions.js";
import { AfterView } from "./after.js";
import { GoalView } from "./after_goal.js";
import { TakeView } from "./after_take.js";
import { BookView } from "./book.js";
import { Chooser } from "./chooser.js";
import { now } from "./clock.js";
import { byId } from "./dom.js";
import { DrillView } from "./drill.js";
import { EditDoor } from "./edit_door.js";
import { EnterDoor } from "./enter_door.js";
import { freeKeys } from "./focus.js";
import { Keys } from "./keys.js";
import { LearnView } from "./learn.js";
import { showLegend } from "./legend.js";
import { ListenView } from "./listen.js";
import { Midi } from "./midi.js";
import { closeByThemselves } from "./menus.js";
import { MidiView } from "./midi_view.js";
import { Notice } from "./notice.js";
import { Pad } from "./pad.js";
import { Paper } from "./paper.js";
import { PlaceView } from "./place.js";
import { Print } from "./print.js";
import { Player } from "./player.js";
import { ReportView } from "./report.js";
import { RungView, meterOf } from "./rung.js";
import { seatOf, sessionOf } from "./seat.js";
import { SettingsView, ownSettings } from "./settings.js";
import { SittingView } from "./sitting.js";
import { ShapesView } from "./shapes_view.js";
import { Sound } from "./sound.js";
import { Sounding } from "./sounding.js";
import { Practice } from "./state.js";
import { StudioDoor } from "./studio_door.js";
import { TEXT } from "./english.js";
import { Transport } from "./transport.js";
import { Wake } from "./wake.js";
import { Watermark } from "./watermark.js";
import { Wire, openSocket } from "./wire.js";

const session = sessionOf(location);
const practice = new Practice();
const sound = new Sound(ownSettings());
const player = new Player(sound);
const wire = new Wire({
  session,
  seat: seatOf(sessionStorage, performance),
  open: () => openSocket(location),
  now,
  later: (run, ms) => setTimeout(run, ms),
  onMessage: (message) => practice.take(message),
  onLine: (up) => practice.line(up),
  onSignedOut: () => location.replace("sign-in.html"),
});
const notice = new Notice(practice);
const actions = new Actions(practice, wire, notice, sound);
const ask = (/** @type {import("./messages.js").Message} */ message) => actions.ask(message);
const change = (/** @type {Record<string, any>} */ settings) => actions.change(settings);
const act = (/** @type {import("./transport.js").Action} */ action) => {
  if (action === "stop") {
    player.stop();
  }
  actions.act(action);
};

// ------------------------------------------------------------------------------------------------ what is shown

/** @type {Paper} */
const paper = new Paper(practice, change, {
  solo: (arrangement) => {
    pad.tune(arrangement);
    shapes.tune(arrangement);
    edit.solo(arrangement);
    after.pencil();
    studio?.signed();
  },
  choose: (measure) => edit.go(measure),
  look: (measure, ways) => void edit.show(measure, ways),
  side: (left) => pad.mirror(left),
});
const place = new PlaceView(practice, paper.sheet, paper.strip, new Transport(practice, act));
const sounding = new Sounding(practice, sound, player, wire, notice, place);
const wake = new Wake(navigator.wakeLock, document);

const picking = (/** @type {(place: {string: number, fret: number}) => void} */ picker) => {
  const wasHidden = byId("pad").hidden;
  showPad(true);
  const back = () => showPad(!wasHidden && !byId("pad").hidden);
  const unpick = pad.pick((place) => {
    back();
    picker(place);
  });
  return () => {
    unpick();
    back();
  };
};
const edit = new EditDoor(
  practice,
  paper,
  (EditView) => new EditView(practice, paper, ask, picking, player),
  (words) => notice.say(words),
);
/** @type {import("./studio.js").StudioView | null} */
let studio = null;
new StudioDoor(
  practice,
  (StudioView) => {
    studio = new StudioView(practice, paper, (message) => wire.send(message), change, (words) => notice.say(words));
  },
  (words) => notice.say(words),
);
new Chooser(practice, change);
new BookView(practice, change, (words) => notice.say(words));
new ReportView(practice, (clean) => wire.send({ kind: "mark", clean }));
const after = new AfterView(practice, paper, new TakeView(practice, player, place));
paper.sheet.onTap((tapped) => !edit.open && after.tapped(tapped));
new Print(practice, paper, notice);
new ListenView(practice, player, place);
new RungView(practice);
new GoalView(practice, change);
new SittingView(practice, ask);
new DrillView(practice, session, change);
new LearnView(practice, (message) => wire.send(message), () => showPad(true));
const settings = new SettingsView(practice, change, (own) => sound.setLoudness(own.loudness));

// ------------------------------------------------------------------------------------------------ what is played

new Keys(act, (event) => !byId("pad").hidden && (pad.key(event) || shapes.key(event)));

const midi = new Midi({
  navigator,
  secure: isSecureContext,
  storage: () => localStorage,
  now,
  onMessage: (stamp, data) => wire.instrumentNote(stamp, data),
  onInstrument: (name, stamp) => {
    wire.hear(name, stamp);
    practice.hear(name);
  },
});
new MidiView(midi, notice);

const watermark = new Watermark(now, (stamp) => {
  if (practice.playing) {
    wire.watermark(stamp);
  }
});
const pad = new Pad(byId("board"), (stamp, data, place) => {
  if (!enter.take({ stamp, pitch: data[1], ...place, velocity: data[2] })) {
    wire.note(stamp, data);
  }
  if (settings.own.padSounds) {
    sound.pluck(data[1], 0.8);
  }
});

const shapes = new ShapesView(pad);
const writing = {
  send: (/** @type {import("./messages.js").Message} */ message) => wire.send(message),
  change,
  opened: (/** @type {boolean} */ open) => {
    pad.inOpenG(open);
    shapes.retuned();
    if (open) {
      edit.close(); // it would have the place that is touched next
      showPad(true);
    }
  },
  told: (/** @type {string} */ words) => notice.say(words),
};
const enter = new EnterDoor((EnterView) => new EnterView(practice, player, writing), writing.told);
midi.onNote(({ stamp, pitch, velocity }) => enter.hear({ stamp, pitch, string: null, fret: null, velocity }));
pad.mirror(paper.view.look.side === "left");

/** @param {boolean} open */
function showPad(open) {
  byId("pad").hidden = !open;
  shapes.show(open);
  document.body.classList.toggle("pad-open", open);
  byId("open-pad").setAttribute("aria-expanded", String(open));
  if (open && paper.narrow.matches && !practice.playing) {
    paper.showStrip(); // the pad leaves little room: it is the sheet's
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

practice.on("line", (up) => {
  document.body.classList.toggle("offline", !up);
  notice.say(up ? "" : practice.hello === null ? TEXT.line.connecting : TEXT.line.lost);
});
practice.on("hello", (hello) => {
  if (hello.page_digest !== practice.hello.page_digest) {
    notice.say(TEXT.line.newer);
    reloadBetweenPasses();
  }
});
practice.on("state", () => {
  document.body.classList.toggle("playing", practice.playing);
  wake.keep(practice.playing);
  reloadBetweenPasses();
});
practice.on("begin", ({ begin, again }) => {
  if (!again && !begin.learning) {
    paper.begin(begin);
    if (paper.narrow.matches) {
      for (const form of ["choice", "sitting", "drill"]) {
        byId(form).open = false; // after the pass it would stand between the report and the strip
      }
    }
  }
  void sounding.begin(begin, again);
});
practice.on("report", (report) => {
  byId("live").textContent = TEXT.report.aloud(report, {
    unmarked: practice.unmarked !== 0,
    jam: practice.jam,
    meter: meterOf(report.rung, practice.tunes, practice.meter),
  });
});
practice.on("failure", (failure) => {
  if (failure.about !== "edit" || !edit.open) {
    notice.say(failure.text); // else the slip says it
  }
});
practice.on("foot", (foot) => {
  byId("foot-words").textContent = TEXT.foot.pressed(foot.switch, foot.did);
});

/** Fetches a newer page, when there is one and no pass is going on. */
function reloadBetweenPasses() {
  if (!practice.playing && notice.words === TEXT.line.newer) {
    location.reload();
  }
}

window.addEventListener("offline", () => wire.drop());

byId("to-progress").href = `progress.html?session=${session}`;
freeKeys(document);
closeByThemselves([byId("view"), byId("print")]);
byId("choice").open = byId("closer").open = !paper.narrow.matches;
showLegend(byId("legend"));
notice.say(TEXT.line.connecting);
setInterval(() => wire.check(), 1000);
watermark.run();
wire.connect();
void midi.resume();
