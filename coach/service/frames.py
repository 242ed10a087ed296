"""The websocket's end in our own server: uvicorn's, but that messages neither wait for a task nor leave one by one.

Uvicorn hands each message to the application through a queue and a task, and stops reading the socket until it is
taken; that costs more than all that is done with a note. Here a page's messages are handed over where they are read,
and what is said to it leaves in one write. An application finds this end in the scope, under ``extensions``; with
another server it does without. A page that does not read cannot hold a connection open: what it will not take is
thrown away.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol
from websockets.exceptions import InvalidState

__all__ = ["EXTENSION", "FrameProtocol", "line_of"]

EXTENSION = "coach.line"

LAST_WORDS = 2.0
"""Seconds that a page has at the end to read what was sent to it."""


class FrameProtocol(WebSocketsSansIOProtocol):
    """One connection; for uvicorn's setting ``ws``.

    Attributes:
        take: takes each text as it is read; None while the application takes them from uvicorn's queue.
        freed: called when more can be written again.
    """

    take: Callable[[str], None] | None = None
    freed: Callable[[], None] | None = None

    @property
    def is_free(self) -> bool:
        """Whether the socket takes more at the moment."""
        return self.writable.is_set()

    def write(self, messages: Sequence[bytes]) -> None:
        """Send messages, each in a frame of its own; to a page that is gone, nothing."""
        if self.disconnected or self.close_sent or self.transport.is_closing():
            return
        try:
            for message in messages:
                self.conn.send_text(message)
        except InvalidState:  # it is closing
            return
        self.transport.write(b"".join(self.conn.data_to_send()))

    def handle_connect(self, event: Any) -> None:
        """Put this end where the application finds it, which begins only afterwards."""
        super().handle_connect(event)
        scope = getattr(self, "scope", None)
        if scope is not None:
            scope["extensions"][EXTENSION] = self

    def send_receive_event_to_app(self) -> None:
        """Hand a message over."""
        if self.take is None or self.curr_msg_data_type != "text" or self.close_sent:
            super().send_receive_event_to_app()
            return
        data = self.frames[0] if len(self.frames) == 1 else b"".join(self.frames)
        try:
            text = str(data, "utf-8")
        except UnicodeDecodeError:
            super().send_receive_event_to_app()  # closes with the reason
            return
        self.frames = []
        self.take(text)

    def resume_writing(self) -> None:
        """The page reads again."""
        super().resume_writing()
        if self.freed is not None:
            self.freed()

    def keepalive_timeout(self) -> None:
        """The page is silent."""
        super().keepalive_timeout()
        self._let_go()

    def on_task_complete(self, task: Any) -> None:
        """The application is done with this page."""
        super().on_task_complete(task)
        self._let_go()

    def _let_go(self) -> None:
        """A connection closes when all is read that was written to it: who does not read would hold it for ever."""
        try:
            waiting = self.transport.get_write_buffer_size()
        except AttributeError:  # asyncio's end of TLS has no buffer any more once it is closed
            return
        if waiting:
            self.loop.call_later(LAST_WORDS, self.transport.abort)


def line_of(scope: Mapping[str, Any]) -> FrameProtocol | None:
    """This end of a connection; None where another server has it."""
    line = scope.get("extensions", {}).get(EXTENSION)
    return line if isinstance(line, FrameProtocol) else None
