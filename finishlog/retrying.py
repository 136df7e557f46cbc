"""A write that certainly left nothing behind is done anew by itself: a collision, a connection that ended.

The log's unit of work is a block and cannot run itself again; what writes in exactly one block, and does nothing
else that may not happen twice, is marked `anew`. A write is repeated only if nothing of it was written: of one whose
commit the server did not answer the log is asked first.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, Protocol, TypeVar

from finishlog.errors import Collided, ServerAway

PAUSES_S = (0.02, 0.1, 0.3, 0.6)
"""Before each further try, more or less: a server that was started anew is often back by the last."""
P = ParamSpec("P")
T = TypeVar("T")


class Asked(Protocol):
    """A log that can tell what became of a write."""

    def was_written(self, error: ServerAway, /) -> bool | None:
        """None if it cannot be told now."""


class HasLog(Protocol):
    """What a desk is given first."""

    def log(self) -> Asked:
        """The log."""


S = TypeVar("S", bound=HasLog)
Write = Callable[Concatenate[S, P], T]


def anew(write: Write[S, P, T]) -> Write[S, P, T]:
    """Does it again, a few times, after a failure that left nothing written. Its first argument has the log."""

    @wraps(write)
    def tried(services: S, /, *args: P.args, **named: P.kwargs) -> T:
        for pause in PAUSES_S:
            try:
                return write(services, *args, **named)
            except Collided:
                _pause(pause)
            except ServerAway as error:
                if error.silent or error.written:
                    raise
                if error.unsure and (known := _was_written(services, error)) is not False:
                    raise (error.once_written() if known else error) from error.__cause__
                _pause(pause)
        return write(services, *args, **named)

    return tried


def _was_written(services: HasLog, error: ServerAway) -> bool | None:
    """None if the server is not soon back."""
    for pause in (0.0, *PAUSES_S):
        _pause(pause)
        known = services.log().was_written(error)
        if known is not None:
            return known
    return None


def _pause(seconds: float) -> None:
    """Two that collided do not come again together."""
    time.sleep(seconds * random.uniform(0.5, 1.5))
