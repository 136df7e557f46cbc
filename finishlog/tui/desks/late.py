"""A desk's function as a method, imported on first call."""

from __future__ import annotations

from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from finishlog.desk.services import Services


class _Late:
    """Calls the function with the desks' services as first argument."""

    def __init__(self, where: str) -> None:
        self._module, _, self._name = where.rpartition(".")

    def __get__(self, desks: Any, _kind: type) -> Any:
        return self if desks is None else partial(self._call, desks._services)

    def _call(self, services: Services, *given: Any) -> Any:
        return getattr(import_module(self._module), self._name)(services, *given)


def late(where: str) -> Any:
    """The function of that dotted name, typed where it is declared."""
    return _Late(where)
