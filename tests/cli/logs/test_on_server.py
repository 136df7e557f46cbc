"""A log on a server answers the commands as the same log in a file."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Ran

FRONT = "bogglethwaite-front-yard"
COMMANDS = (
    ("find", "spring"), ("find", "bogglethwiate"), ("find", "fire circle"), ("find", "year:2026"),
    ("show", FRONT), ("today",), ("care",), ("shelf",), ("color", FRONT), ("match", FRONT, "--rect", "20x12"),
)  # fmt: skip


def test_the_demo_is_made_searched_and_checked_there(
    finishlog: Callable[..., Ran], bare_address: str, demo: str
) -> None:
    assert finishlog("demo", "--into", bare_address).status == 0
    for command in COMMANDS:
        here, there = finishlog("--log", demo, *command), finishlog("--log", bare_address, *command)
        assert (there.status, there.out) == (here.status, here.out), command
        assert here.status == 0, here.err
    assert "The log is sound." in finishlog("--log", bare_address, "check").out
