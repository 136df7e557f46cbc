"""The log on disk. SQLAlchemy is imported only when a log is first needed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from finishlog.store.check import CheckReport
    from finishlog.store.log import Log
    from finishlog.store.reader import Reader
    from finishlog.store.writer import Writer

__all__ = ["CheckReport", "Log", "Reader", "Writer"]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"finishlog.store has no {name}")
    from importlib import import_module

    home = {"CheckReport": "check"}.get(name, name.lower())
    return getattr(import_module(f"finishlog.store.{home}"), name)
