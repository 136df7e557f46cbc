"""The links at the head of each page: none to what would refuse whoever follows it."""

from __future__ import annotations

from finishlog import roles

SCREENS = "customers"
"""What one has to be allowed to have the screens: the crew has the page."""
_LINKS = (
    ("today", "/", "Today", ""),
    ("find", "/find", "Find", ""),
    ("waiting", "/waiting", "Waiting", ""),
    ("screens", "/screens", "Screens", SCREENS),
)
"""What a page calls itself, its path, its word, and the act it needs."""


def links(role: str) -> tuple[tuple[str, str, str], ...]:
    """Name, path and word of each page that the role may open."""
    return tuple((name, path, word) for name, path, word, act in _LINKS if not act or roles.may(role, act))
