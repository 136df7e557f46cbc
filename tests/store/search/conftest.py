"""Whatever is searched for, or kept for the lists, is so on both engines."""

from __future__ import annotations

import pytest

BOTH = ("sqlite", "postgres")


@pytest.fixture(params=BOTH)
def engine_name(request: pytest.FixtureRequest) -> str:
    """Which engine keeps the logs of a test."""
    return str(request.param)
