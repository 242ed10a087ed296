"""A broken instrument as a program of its own: random bytes from a JACK MIDI port until its input ends.

Most messages are one to three bytes without any order; some begin as a note or a bend does and have too few or
impossible bytes after it; some are long ones of the system's kind (the library sends no other long ones), without their
end. The same seed gives the same noise.
"""

from __future__ import annotations

import random
import sys
import threading

import rtmidi

PAUSE = 0.002  # seconds between two messages


def message(chance: random.Random) -> bytes:
    """Random bytes, 1 to 40 of them."""
    kind = chance.random()
    if kind < 0.1:
        return bytes([0xF0, *(chance.randrange(256) for _ in range(chance.randrange(3, 40)))])
    first = (
        chance.randrange(256) if kind < 0.6 else chance.choice((0x80, 0x90, 0xB0, 0xC0, 0xE0)) | chance.randrange(16)
    )
    return bytes([first, *(chance.randrange(256) for _ in range(chance.randrange(3)))])


def main(seed: int) -> None:
    out = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="broken")
    out.open_virtual_port("out")
    print("ready", flush=True)
    ended = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), ended.set()), daemon=True).start()
    chance = random.Random(seed)
    count = 0
    while not ended.wait(PAUSE):
        out.send_message(message(chance))
        count += 1
    print(count, flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]))
