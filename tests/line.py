"""The line to a PostgreSQL server, which a test cuts where it likes: a relay on loopback.

with line.to(address) as wire:
    log = ticking.open(wire.address)
    wire.cut_at(b"COMMIT", after=True)  # the server gets it, its answer never comes
"""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from urllib.parse import parse_qs, urlsplit


class Line:
    """Takes connections at a port and passes what is said on to the server, both ways."""

    def __init__(self, address: str) -> None:
        parts = urlsplit(address)
        self._folder = parse_qs(parts.query).get("host", [""])[0]
        self._host, self._port = parts.hostname, parts.port or 5432
        self._listening = socket.create_server(("127.0.0.1", 0))
        user = parts.username or "postgres"
        self.address = f"postgresql://{user}@127.0.0.1:{self._listening.getsockname()[1]}{parts.path}"
        self._open: list[socket.socket] = []
        self._word, self._after, self._comes_back = b"", False, False
        self._silent = threading.Event()
        self.is_cut = threading.Event()
        threading.Thread(target=self._take, daemon=True).start()

    def cut_at(self, word: bytes, *, after: bool, comes_back: bool = False) -> None:
        """Cut it once somebody says this word: after the server has heard it, or before.

        Where it `comes_back`, who calls anew gets through.
        """
        self.is_cut.clear()
        self._word, self._after, self._comes_back = word, after, comes_back

    @property
    def was_cut(self) -> bool:
        """Whether that word was said, and it was cut."""
        return not self._word

    def swallow(self) -> None:
        """From now on nothing arrives on either side, and nobody is told."""
        self._silent.set()

    def mend(self) -> None:
        """It is whole again, for those who call anew."""
        self.cut()
        self._word = b""
        self._silent.clear()
        self.is_cut.clear()

    def cut(self) -> None:
        """Every connection ends, and new ones too."""
        self.is_cut.set()
        for one in self._open:
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
        self._open.clear()

    def close(self) -> None:
        """The end."""
        self.cut()
        self._listening.close()

    def _server(self) -> socket.socket:
        if not self._folder:
            return socket.create_connection((self._host, self._port))
        made = socket.socket(socket.AF_UNIX)
        made.connect(f"{self._folder}/.s.PGSQL.{self._port}")
        return made

    def _take(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._listening.accept()
                if self.is_cut.is_set():
                    near.close()
                    continue
                self._open.append(near)
                if not self._silent.is_set():
                    self._join(near)

    def _join(self, near: socket.socket) -> None:
        far = self._server()
        self._open.append(far)
        for one, other, said in ((near, far, True), (far, near, False)):
            threading.Thread(target=self._pass_on, args=(one, other, said), daemon=True).start()

    def _pass_on(self, one: socket.socket, other: socket.socket, said: bool) -> None:
        with suppress(OSError):
            while data := one.recv(65536):
                if said and self._word and self._word in data:
                    if self._after:
                        with suppress(OSError):
                            one.shutdown(socket.SHUT_RDWR)
                        other.sendall(data)
                        while other.recv(65536):  # it has done it
                            break
                    self._word = b""
                    self.cut()
                    if self._comes_back:
                        self.is_cut.clear()
                    return
                if not self._silent.is_set():
                    other.sendall(data)
        for each in (one, other):
            with suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)


@contextmanager
def to(address: str) -> Iterator[Line]:
    """A line to the server of an address."""
    made = Line(address)
    try:
        yield made
    finally:
        made.close()
