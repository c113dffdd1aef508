"""What the process behind a browser tab draws on: Textual's driver for browsers, which also sees the server go."""

from __future__ import annotations

import os
import signal

from textual.drivers.web_driver import WebDriver

AGAIN = "again"
"""What the server says once a tab has come back: its terminal is a new one, and shows nothing yet."""


class TabDriver(WebDriver):
    """Named in the environment of that process. Without a server the program ends as on a dropped terminal line."""

    def start_application_mode(self) -> None:
        self._write = self._write_whole  # type: ignore[assignment]
        super().start_application_mode()

    def run_input_thread(self) -> None:
        super().run_input_thread()
        if not self.exit_event.is_set():  # the server is gone, and nobody will ever read or type again
            os.kill(os.getpid(), signal.SIGHUP)

    def on_meta(self, packet_type: str, payload: dict[str, object]) -> None:
        if packet_type == AGAIN:
            self._app.call_later(self._draw_again)
        else:
            super().on_meta(packet_type, payload)

    def _draw_again(self) -> None:
        """Set a new terminal up as the first one was, and draw the whole screen on it."""
        self.write("\x1b[?1049h")
        self._enable_mouse_support()
        self.write("\x1b[?25l")
        self._request_terminal_sync_mode_support()
        self._enable_bracketed_paste()
        self._app.refresh(layout=True)

    def _write_whole(self, data: bytes) -> int:
        """Write everything, also where a signal comes in between; what nobody reads any more is dropped."""
        rest = memoryview(data)
        try:
            while rest:
                rest = rest[os.write(self.fileno, rest) :]
        except BrokenPipeError:
            pass
        return len(data)
