"""What is said where a row is missing or impossible."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from finishlog.errors import LogError


@contextmanager
def whole() -> Iterator[None]:
    """Treats a missing or impossible row as file damage."""
    try:
        yield
    except (KeyError, ValueError) as error:
        raise LogError(
            "The log is damaged: a job cannot be read.",
            f"What was found is {error}.",
            "Run finishlog check; finishlog restore lists the copies.",
        ) from error
