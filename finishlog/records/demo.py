"""Where the demo begins."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DemoStart:
    """The reference job of the demo, and the addition that its owner wants, as typed."""

    handle: str
    rect: str
    depth: str
