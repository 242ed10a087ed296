import assert from "node:assert/strict";
import { test } from "node:test";

import { GATHERED, SILENCE, WAITS, Wire } from "../../web_client/wire.js";

/** A socket whose other end is the test. */
class TestSocket {
  constructor() {
    this.sent = [];
    this.closed = false;
    this.readyState = 1;
  }

  send(text) {
    this.sent.push(JSON.parse(text));
  }

  close() {
    this.closed = true;
  }

  tell(message) {
    this.onmessage({ data: JSON.stringify(message) });
  }
}

function parts() {
  const world = { sockets: [], messages: [], lines: [], timers: [], time: 5, signedOut: 0 };
  const wire = new Wire({
    session: "home",
    seat: "pad-1",
    open: () => {
      world.sockets.push(new TestSocket());
      return world.sockets.at(-1);
    },
    now: () => world.time,
    later: (run, ms) => world.timers.push({ run, ms }),
    onMessage: (message) => world.messages.push(message),
    onLine: (up) => world.lines.push(up),
    onSignedOut: () => {
      world.signedOut += 1;
    },
  });
  wire.connect();
  return { world, wire };
}

function joined(acknowledged = 0) {
  const { world, wire } = parts();
  world.sockets[0].onopen();
  world.sockets[0].tell({ kind: "hello", acknowledged });
  world.sockets[0].sent.length = 0;
  return { world, wire };
}

/** Loses the connection and has the next one joined. */
function again(world, acknowledged) {
  world.sockets.at(-1).onclose();
  world.timers.at(-1).run();
  world.sockets.at(-1).onopen();
  world.sockets.at(-1).tell({ kind: "hello", acknowledged });
}

test("the first message joins with session and seat", () => {
  const { world } = parts();

  world.sockets[0].onopen();

  assert.deepEqual(world.sockets[0].sent, [{ kind: "join", session: "home", seat: "pad-1" }]);
});

test("nothing but the join goes out before the hello", () => {
  const { world, wire } = parts();
  world.sockets[0].onopen();

  wire.note(1, [0x90, 60, 96]);

  assert.equal(wire.send({ kind: "start", sounds: true }), false);
  assert.deepEqual(world.sockets[0].sent.map(({ kind }) => kind), ["join"]);
  assert.deepEqual(world.lines, []);
});

test("the hello brings what was kept, then the line is up", () => {
  const { world, wire } = parts();
  world.sockets[0].onopen();
  wire.note(1, [0x90, 60, 96]);

  world.sockets[0].tell({ kind: "hello", acknowledged: 0 });

  const notes = { kind: "notes", seat: "pad-1", items: [{ seq: 1, stamp: 1, data: [0x90, 60, 96] }] };
  assert.deepEqual(world.sockets[0].sent.at(-1), notes);
  assert.deepEqual(world.lines, [true]);
});

test("a ping is answered with its own stamp and two of the page's clock", () => {
  const { world } = joined();

  world.sockets[0].tell({ kind: "ping", id: 7, t1: 123.5 });

  assert.deepEqual(world.sockets[0].sent, [{ kind: "pong", id: 7, t1: 123.5, t2: 5, t3: 5 }]);
  assert.deepEqual(world.messages.map(({ kind }) => kind), ["hello"]);
});

test("after a reconnect only what was not acknowledged is sent again, with its numbers", () => {
  const { world, wire } = joined();
  for (const stamp of [1, 2, 3]) {
    wire.note(stamp, [0x90, 60 + stamp, 96]);
  }
  world.sockets[0].tell({ kind: "ack", seat: "pad-1", seq: 1 });

  again(world, 2);

  const notes = world.sockets[1].sent.filter(({ kind }) => kind === "notes");
  assert.deepEqual(notes.map(({ items }) => items.map(({ seq }) => seq)), [[3]]);
});

test("notes played while the line is down arrive in order when it is back", () => {
  const { world, wire } = joined();
  world.sockets[0].onclose();
  wire.note(1, [0x90, 60, 96]);
  wire.note(2, [0x90, 62, 96]);

  world.timers.at(-1).run();
  world.sockets[1].onopen();
  world.sockets[1].tell({ kind: "hello", acknowledged: 0 });

  assert.deepEqual(world.sockets[1].sent[1].items.map(({ stamp }) => stamp), [1, 2]);
  assert.deepEqual(world.lines, [true, false, true]);
});

test("an ack of another seat takes nothing away", () => {
  const { world, wire } = joined();
  wire.note(1, [0x90, 60, 96]);

  world.sockets[0].tell({ kind: "ack", seat: "pad-2", seq: 1 });

  assert.equal(wire.outbox.pending.length, 1);
});

test("attempts wait longer and longer, and start over once joined", () => {
  const { world } = joined();

  for (let attempt = 0; attempt < 6; attempt += 1) {
    world.sockets.at(-1).onclose();
    world.timers.at(-1).run();
  }
  const waits = [...WAITS, WAITS.at(-1)].map((seconds) => seconds * 1000);
  assert.deepEqual(world.timers.map(({ ms }) => ms), waits);

  world.sockets.at(-1).onopen();
  world.sockets.at(-1).tell({ kind: "hello", acknowledged: 0 });
  world.sockets.at(-1).onclose();

  assert.equal(world.timers.at(-1).ms, WAITS[0] * 1000);
});

test("a line that the browser knows to be dead is dropped at once, and its late close changes nothing", () => {
  const { world, wire } = joined();
  const [old] = world.sockets;

  wire.drop();
  old.onclose();

  assert.equal(old.closed, true);
  assert.deepEqual(world.lines, [true, false]);
  assert.equal(world.timers.length, 1);
});

test("a kind that a page may not send is refused", () => {
  const { wire } = joined();

  assert.throws(() => wire.send({ kind: "verdict" }), /verdict/);
});

test("a kind that this page does not know is left alone", () => {
  const { world } = joined();

  world.sockets[0].tell({ kind: "weather", sun: true });

  assert.deepEqual(world.messages.map(({ kind }) => kind), ["hello"]);
});

test("a line on which nothing comes for too long is given up, and no sooner", () => {
  const { world, wire } = joined();

  world.time += SILENCE;
  wire.check();
  assert.deepEqual(world.lines, [true]);
  world.time += 0.001;
  wire.check();

  assert.deepEqual(world.lines, [true, false]);
  assert.equal(world.sockets[0].closed, true);
});

test("any word of the service keeps the line", () => {
  const { world, wire } = joined();
  world.time += SILENCE;
  world.sockets[0].tell({ kind: "ping", id: 1, t1: 0 });

  world.time += SILENCE;
  wire.check();

  assert.deepEqual(world.lines, [true]);
});

test("a closing line takes nothing more, and notes wait for the next", () => {
  const { world, wire } = joined();
  world.sockets[0].readyState = 2;

  wire.note(1, [0x90, 60, 96]);

  assert.equal(wire.send({ kind: "stop" }), false);
  assert.deepEqual(world.sockets[0].sent, []);
  again(world, 0);
  assert.deepEqual(world.sockets[1].sent.at(-1).items.map(({ seq }) => seq), [1]);
});

const on = [0x91, 60, 96];
const bend = [0xe1, 0, 80];
const items = (socket) => socket.sent.filter(({ kind }) => kind === "notes").map(({ seat, items: of }) => [seat, of.map(({ seq }) => seq)]);

/** A page that hears an instrument, and what it has sent since. */
function hearing() {
  const { world, wire } = joined();
  wire.hear("Cedar Five", 4);
  const [socket] = world.sockets;
  const named = socket.sent.splice(0);
  return { world, wire, socket, named };
}

test("the instrument is named at once, and again after each reconnect, before its notes", () => {
  const { world, wire, named } = hearing();
  wire.instrumentNote(6, on);

  again(world, 0);

  assert.deepEqual(named, [{ kind: "input", name: "Cedar Five", stamp: 4 }]);
  assert.deepEqual(world.sockets[1].sent.slice(1), [
    { kind: "input", name: "Cedar Five", stamp: 4 },
    { kind: "notes", seat: "pad-1-midi", items: [{ seq: 1, stamp: 6, data: on }] },
  ]);
});

test("an instrument that was named while the line was down is named when it is back", () => {
  const { world, wire } = parts();
  wire.hear("Cedar Five", 4);
  wire.hear("", 5);
  world.sockets[0].onopen();
  world.sockets[0].tell({ kind: "hello", acknowledged: 0 });

  assert.deepEqual(world.sockets[0].sent.slice(1), [{ kind: "input", name: "", stamp: 5 }]);
});

test("a page that never heard an instrument says nothing of one", () => {
  const { world, wire } = joined();

  wire.watermark(3);

  assert.deepEqual(world.sockets[0].sent, [{ kind: "notes", seat: "pad-1", items: [], watermark: 3 }]);
});

test("a page loaded anew that does not hear the instrument of the page before says so", () => {
  for (const [hears, name] of [[false, ""], [true, "Cedar Five"]]) {
    const { world, wire } = parts();
    if (hears) {
      wire.hear("Cedar Five", 4);
    }
    world.sockets[0].onopen();
    world.sockets[0].tell({ kind: "hello", acknowledged: 0, instrument: "Cedar Five" });

    assert.deepEqual(world.sockets[0].sent.slice(1), [{ kind: "input", name, stamp: hears ? 4 : null }]);
  }
});

test("pad and instrument have numbers of their own, and each its own acknowledgements", () => {
  const { world, wire, socket } = hearing();
  wire.note(1, on);
  wire.instrumentNote(2, on);
  wire.instrumentNote(3, on);
  assert.deepEqual(items(socket), [["pad-1", [1]], ["pad-1-midi", [1]], ["pad-1-midi", [2]]]);

  socket.tell({ kind: "ack", seat: "pad-1-midi", seq: 1 });
  again(world, 1);

  assert.deepEqual(items(world.sockets[1]), [["pad-1-midi", [2]]]);
});

test("a page loaded anew goes on behind what was taken from the instrument before", () => {
  const { world, wire } = parts();
  wire.hear("Cedar Five", 4);
  wire.instrumentNote(5, on);
  world.sockets[0].onopen();
  world.sockets[0].tell({ kind: "hello", acknowledged: 7, instrument_acknowledged: 30 });
  wire.note(6, on);

  assert.deepEqual(items(world.sockets[0]), [["pad-1-midi", [31]], ["pad-1", [8]]]);
});

test("bends wait a moment for company, and go before a note or a watermark that comes behind them", () => {
  const { world, wire, socket } = hearing();
  wire.instrumentNote(1, bend);
  wire.instrumentNote(2, bend);
  assert.deepEqual(socket.sent, []);
  assert.deepEqual(world.timers.map(({ ms }) => ms), [GATHERED]);
  wire.instrumentNote(3, on);
  wire.instrumentNote(4, bend);
  wire.watermark(5);

  assert.deepEqual(items(socket), [["pad-1-midi", [1, 2, 3]], ["pad-1-midi", [4]], ["pad-1", []], ["pad-1-midi", []]]);
  wire.instrumentNote(6, bend);
  world.timers.at(-1).run();
  assert.deepEqual(items(socket).at(-1), ["pad-1-midi", [5]]);
  wire.instrumentNote(7, bend);
  assert.equal(world.timers.length, 2);
});

test("bends that were gathered when the line went down are sent once when it is back", () => {
  const { world, wire } = hearing();
  wire.instrumentNote(1, bend);
  const gathered = world.timers.at(-1);
  world.sockets[0].onclose();
  gathered.run();
  world.timers.at(-1).run();
  world.sockets[1].onopen();
  world.sockets[1].tell({ kind: "hello", acknowledged: 0 });
  wire.instrumentNote(2, on);

  assert.deepEqual(items(world.sockets[1]), [["pad-1-midi", [1]], ["pad-1-midi", [2]]]);
});

test("a desk says so first, is there with the answer, and says it again on a new line", () => {
  const { world, wire } = parts();
  wire.parts.first = { kind: "desk" };
  world.sockets[0].onopen();
  assert.deepEqual(world.sockets[0].sent, [{ kind: "desk" }]);
  assert.equal(wire.send({ kind: "look_on", student: "anna" }), false);

  world.sockets[0].tell({ kind: "desk_hello", person: "Ruth", studio: "Reed Bank" });
  assert.deepEqual([world.lines, world.messages.length], [[true], 1]);
  assert.equal(wire.send({ kind: "look_on", student: "anna" }), true);

  world.sockets[0].onclose();
  world.timers.at(-1).run();
  world.sockets[1].onopen();
  assert.deepEqual(world.sockets[1].sent, [{ kind: "desk" }]);
});

test("a page that is let go since its device was signed out is told so, and others that lose the line are not", () => {
  const { world } = joined();
  world.sockets.at(-1).onclose({ code: 1006, reason: "" });
  assert.equal(world.signedOut, 0);

  world.timers.at(-1).run();
  world.sockets.at(-1).onclose({ code: 1008, reason: "signed out" });

  assert.equal(world.signedOut, 1);
});
