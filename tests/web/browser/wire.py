"""The air between a phone and the site: a relay on loopback that a test switches off, or that loses an answer."""

from __future__ import annotations

import socket
import threading
from contextlib import suppress


class Wire:
    """Takes connections at a port of its own and passes on what is said, both ways."""

    def __init__(self) -> None:
        self.to = 0
        """The port of the server."""
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listening.getsockname()[1])
        self._open: set[socket.socket] = set()
        self._on = True
        self._word = b""
        self.lost = threading.Event()
        threading.Thread(target=self._take, daemon=True).start()

    def off(self) -> None:
        """No signal: what is open ends, and nothing else gets through."""
        self._on = False
        for one in list(self._open):
            _end(one)

    def on(self) -> None:
        """It is back."""
        self._on = True

    def lose_answer_to(self, word: bytes) -> None:
        """The server gets the next request with this word and does it; its answer never arrives, and it is `off`."""
        self._word = word
        self.lost.clear()

    def close(self) -> None:
        """The end."""
        self.off()
        self._listening.close()

    def _take(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._listening.accept()
                if not self._on:
                    near.close()
                    continue
                far = socket.create_connection(("127.0.0.1", self.to))
                self._open |= {near, far}
                is_lost = threading.Event()
                for one, other in ((near, far), (far, near)):
                    threading.Thread(
                        target=self._pass_on, args=(one, other, one is near, is_lost), daemon=True
                    ).start()

    def _pass_on(
        self, one: socket.socket, other: socket.socket, said: bool, is_lost: threading.Event
    ) -> None:
        with suppress(OSError):
            while data := one.recv(65536):
                if said and self._word and self._word in data:
                    self._word = b""
                    is_lost.set()
                if not said and is_lost.is_set():  # the server has answered: it is on its disk
                    self.off()  # else the browser itself would ask again at once
                    self.lost.set()
                    break
                other.sendall(data)
        _end(one)
        _end(other)
        self._open -= {one, other}


def _end(one: socket.socket) -> None:
    with suppress(OSError):
        one.shutdown(socket.SHUT_RDWR)
