"""Who may do what on a log file: commands refuse in one line that says who may, and no price is shown to a crew."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from finishlog import paths, roles, settings
from finishlog.cli import access
from finishlog.cli.main import _HOME
from finishlog.records.quantities.order import MONEY_PRICES
from finishlog.records.shop import SETTINGS
from finishlog.trade.events import kinds_in_order

JOB = "bogglethwaite-front-yard"
FORBIDDEN = (
    ("match", JOB, "--rect", "20x12"),
    ("job", "new", "--customer", "Ottoline Quillfeather", "--job", "walk"),
    ("job", "archive", JOB),
    ("job", "customer", "Bogglethwaite", "--phone", "555-0142"),
    ("record", JOB, "change", "--set", "price_added=450"),
    ("shelf", "buy", "Otter Back", "--amount", "50 lb"),
    ("shelf", "count", "Otter Back", "--amount", "50 lb", "--price", "150"),
    ("shelf", "cost"),
    ("shop", "--name", "Teakettle Slabs"),
    ("care", "--csv", "reseals.csv"),
    ("care", "--plan", "--keep"),
    ("recipes", "--join"),
    ("color", JOB, "--keep"),
    ("export", "everything"),
    ("import", "pours.csv"),
    ("backup", "copy.finishlog"),
    ("restore", "copy.finishlog"),
    ("check",),
)
READ = (
    ("find",), ("show", JOB), ("today",), ("care",), ("shelf",), ("shelf", "moves"), ("color", JOB),
    ("yards", "--rect", "20x12", "--depth", "4in"),
    ("balance", "--remaining", "6x18", "--depth", "4in", "--dose", "16.9 lb/yd3", "--minutes-since", "35"),
)  # fmt: skip


@pytest.fixture
def sits() -> Callable[[str], None]:
    """Sets who sits at this machine."""

    def sit(who: str) -> None:
        settings.write(paths.settings_file(), settings.Machine(who=who))

    return sit


def test_one_table_holds_every_role_and_act() -> None:
    assert set(roles.MAY) == set(roles.ROLES) == set(settings.SEATS)
    assert roles.MAY[roles.CREW] < roles.MAY[roles.OFFICE] < roles.MAY[roles.OWNER] == frozenset(roles.ACTS)
    assert set(access.NEEDS) == set(_HOME)
    assert {need for need in access.NEEDS.values() if isinstance(need, str)} <= set(roles.ACTS)


def test_no_price_is_forgotten() -> None:
    """What is money by its unit stands in the lists by which it is left out."""
    facts = {param.name for kind in kinds_in_order() for param in kind.params if param.unit == "money"}
    assert facts == set(roles.PRICED_FACTS)
    money = {setting.key for setting in SETTINGS if setting.unit.startswith("$")}
    assert set(MONEY_PRICES) <= money


@pytest.mark.parametrize("who", ["crew", "office"])
def test_what_one_may_not_is_refused_in_one_line_that_says_who_may(
    finishlog: Callable[..., Any], demo: str, sits: Callable[[str], None], who: str
) -> None:
    sits(who)
    refused = FORBIDDEN if who == "crew" else [one for one in FORBIDDEN if one[0] in ("restore", "shop")]
    for command in refused:
        ran = finishlog("--log", demo, *command)
        assert (ran.status, ran.out) == (2, ""), command
        assert ran.err.count("\n") == 1
        assert "Only the owner" in ran.err, (command, ran.err)
        assert f"you work as {who}" in ran.err


def test_a_crew_logs_and_takes_back(
    finishlog: Callable[..., Any], demo: str, sits: Callable[[str], None]
) -> None:
    sits("crew")
    for command in (
        ("record", JOB, "care_note", "--note", "swept"),
        ("undo", JOB),
        ("shelf", "count", "Otter Back", "--lot", "0331", "--amount", "20 lb"),
    ):
        ran = finishlog("--log", demo, *command)
        assert "Only" not in ran.err, ran.err


def test_a_crew_is_shown_no_price(
    finishlog: Callable[..., Any], demo: str, sits: Callable[[str], None]
) -> None:
    """The same commands show prices to an owner: the money is there, and only left out."""
    bought = ("shelf", "buy", "Otter Back", "--kind", "powder release", "--lot", "0999", "--amount", "50 lb")
    assert finishlog("--log", demo, *bought, "--price", "481.37").status == 0
    added = ("record", JOB, "change", "--area", "field", "--set", "price_added=629.53")
    assert finishlog("--log", demo, *added).status == 0
    for command in READ:
        seen = {}
        for who in ("owner", "crew"):
            sits(who)
            seen[who] = [finishlog("--log", demo, *command, *more) for more in ((), ("--json",))]
            assert [ran.status for ran in seen[who]] == [0, 0], command
        assert "$" not in seen["crew"][0].out, command
        for said in ("481.37", "629.53", "9.6274"):
            assert said not in seen["crew"][0].out + seen["crew"][1].out, command
        assert _money(seen["crew"][1].json()) == [], command
        if command[0] in ("yards", "show") or command[1:] == ("moves",):
            assert seen["owner"][0].out != seen["crew"][0].out, command


def _money(told: Any, under: str = "") -> list[str]:
    """The keys of money that have a value."""
    if isinstance(told, dict):
        return [found for key, value in told.items() for found in _money(value, key)]
    if isinstance(told, list):
        return [found for value in told for found in _money(value, under)]
    words = ("usd", "price", "cost", "fee", *MONEY_PRICES)
    return [under] if told is not None and any(word in under for word in words) else []
