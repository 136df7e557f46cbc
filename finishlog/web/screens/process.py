"""The screens of one visitor: a process of its own, which ends when they leave."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from asyncio.subprocess import PIPE, Process
from collections.abc import Awaitable, Callable, Sequence
from contextlib import suppress

from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

GRACE_S = 1.5
"""How long the screens may take to close by themselves."""
MOST_CELLS = 500, 200
"""Columns and rows: a browser asks for what it likes."""


class Opened(AppService):
    """The screens as the protocol of textual-serve runs them, with a start without a shell and an end that is one."""

    def __init__(
        self,
        argv: Sequence[str],
        role: str,
        write: Callable[[bytes], Awaitable[None]],
        close: Callable[[], Awaitable[None]],
    ) -> None:
        async def nothing(text: str) -> None:
            """It never asks the browser to open an address or to fetch a file."""

        super().__init__(
            "", write_bytes=write, write_str=nothing, close=close, download_manager=DownloadManager()
        )
        self._argv = argv
        self._role = role

    @property
    def pid(self) -> int | None:
        """The process."""
        return self._process.pid if self._process else None

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        environment = self._build_environment(*within(width, height))
        environment |= {"FINISHLOG_VISITOR": self._role, "FINISHLOG_PARENT": str(os.getpid())}
        self._process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "finishlog", *self._argv,
            stdin=PIPE, stdout=PIPE, stderr=PIPE, env=environment, start_new_session=True,
        )  # fmt: skip
        self._stdin = self._process.stdin
        return self._process

    async def on_meta(self, data: bytes) -> None:
        """Only that they closed is passed on."""
        if b'"exit"' in data:
            await self.remote_close()

    async def stop(self) -> None:
        """Ask them to close; after a moment end them, whatever they were doing."""
        process, self._process = self._process, None
        if process is None:
            return
        with suppress(asyncio.TimeoutError, OSError):
            async with asyncio.timeout(GRACE_S):
                await self.send_meta({"type": "quit"})
                await process.wait()
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)  # what it may have started, too
        if self._task is not None:
            self._task.cancel()
            await asyncio.wait([self._task], timeout=GRACE_S)
        await process.wait()


def within(width: int, height: int) -> tuple[int, int]:
    """A size that is one."""
    return min(max(width, 20), MOST_CELLS[0]), min(max(height, 5), MOST_CELLS[1])
