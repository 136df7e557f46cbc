"""What can go wrong, said so that a person can act on it: what happened, why, what to do.

The exit status of the command line belongs to the class (README, "Exit status"):
0 done, 1 a fault of ours, 2 the input is wrong, 3 the log cannot be used.
"""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from typing import ClassVar

_FULL = {
    errno.ENOSPC: "The disk is full.",
    errno.EDQUOT: "Your disk quota is full.",
    errno.EFBIG: "The file is too large for this disk.",
}


def is_full(error: BaseException) -> bool:
    """Whether the disk, or our share of it, takes no more."""
    return isinstance(error, OSError) and error.errno in _FULL


def why(error: Exception) -> str:
    """The operating system's reason, as a sentence."""
    if isinstance(error, OSError) and error.errno in _FULL:
        return _FULL[error.errno]
    return f"{getattr(error, 'strerror', None) or error}."


class FinishlogError(Exception):
    """A failure with a title (what happened), a cause (why) and a remedy (what to do)."""

    exit_status: ClassVar[int] = 1

    def __init__(self, title: str, cause: str = "", remedy: str = "") -> None:
        super().__init__(title)
        self.title = title
        self.cause = cause
        self.remedy = remedy

    def line(self) -> str:
        """The failure in one line, for standard error."""
        return " ".join(part for part in (self.title, self.cause, self.remedy) if part)


class InputError(FinishlogError):
    """What was typed is wrong. `where` names the field or option, `example` a right value."""

    exit_status = 2

    def __init__(self, title: str, cause: str = "", *, where: str = "", example: str = "") -> None:
        super().__init__(title, cause, f"Like {example}." if example else "")
        self.where = where
        self.example = example

    def at(self, where: str) -> InputError:
        """The same failure, said of a named field or option."""
        return type(self)(self.title, self.cause, where=where, example=self.example)

    def line(self) -> str:
        prefix = f"{self.where}: " if self.where else ""
        return prefix + super().line()


@contextmanager
def naming(where: str) -> Iterator[None]:
    """What is refused inside is refused at this field or option."""
    try:
        yield
    except InputError as wrong:
        raise wrong.at(where) from None


class LimitError(InputError):
    """A plan breaks a limit that may not be broken (the pigment limit of ASTM C979/C979M)."""


class LogError(FinishlogError):
    """The log cannot be used: missing, not a log, newer than the program, locked or damaged."""

    exit_status = 3


class Collided(LogError):
    """Somebody wrote at the same moment: nothing was written, and it may be done anew at once."""


class ServerAway(LogError):
    """The log's server cannot be reached, or went away in mid-work.

    `unsure`: it went away in the middle of a commit, so whether it was written is not known; `write` is what to
    ask for by when it is back (`Log.was_written`). `written`: it was, as was asked meanwhile. `silent`: the server
    did not answer, so that asking again takes seconds.
    """

    def __init__(
        self, title: str, cause: str = "", remedy: str = "", *, write: str = "", silent: bool = False
    ) -> None:
        super().__init__(title, cause, remedy)
        self.write = write
        self.unsure = bool(write)
        self.written = False
        self.silent = silent

    def once_written(self) -> ServerAway:
        """The failure of which is known that all was written before it."""
        said = "It was written; the server went away before it could say so."
        made = ServerAway(self.title, said, "Do not write it again.", silent=self.silent)
        made.written = True
        return made
