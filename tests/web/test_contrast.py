"""Readable in sun: all that is written stands out 7:1 (WCAG 2.2, 1.4.6), edges 3:1 (1.4.11), by day and at night.

The pairs are read off the style itself: a rule with both colors is one pair; what has a text color alone may stand
on every ground that something else can stand on. Swatches are what they are.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from coloraide import Color

from finishlog.web import app
from finishlog.web.pages import icon

TEXT, EDGE = 7.0, 3.0
STYLE = re.sub(r"/\*.*?\*/", "", (app._STATIC / "style.css").read_text("utf-8"), flags=re.DOTALL)
SCREENS = (app._STATIC / "screens.css").read_text("utf-8")
RULES = re.findall(r"([^{}]+)\{([^{}]*)\}", STYLE)
GROUNDS = ("ground", "field", "bar")


def colors(mode: str) -> dict[str, str]:
    """The named colors by day, or as they are at night."""
    day, night = re.findall(r":root \{([^}]*)\}", STYLE)
    found = dict(re.findall(r"--([\w-]+): (#\w+)", day))
    return found | dict(re.findall(r"--([\w-]+): (#\w+)", night)) if mode == "dark" else found


def said(body: str, what: str) -> str:
    """The named color that a rule gives."""
    found = re.search(rf"(?<![\w-]){what}:[^;]*var\(--([\w-]+)\)", body)
    return found[1] if found else ""


def pairs() -> Iterator[tuple[str, str]]:
    """Text and what is behind it."""
    for _, body in RULES:
        text, behind = said(body, "color"), said(body, "background")
        if text:
            yield from ((text, each) for each in ([behind] if behind else GROUNDS))
        elif behind:
            yield "text", behind


def ratio(one: str, other: str) -> float:
    return float(Color(one).contrast(other, method="wcag21"))


def test_the_arithmetic_is_that_of_the_standard() -> None:
    assert ratio("#000", "#fff") == pytest.approx(21)
    assert ratio("#777", "#fff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_all_that_is_written_stands_out(mode: str) -> None:
    named, used = colors(mode), set(pairs())
    assert len(used) > 15
    assert {("bad", "field"), ("on-accent", "accent"), ("text", "cursor")} <= used
    low = {pair: round(ratio(named[pair[0]], named[pair[1]]), 2) for pair in used}
    assert {pair: at for pair, at in low.items() if at < TEXT} == {}


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_the_edges_of_what_is_typed_in_or_tapped_stand_out(mode: str) -> None:
    named = colors(mode)
    for edge in ("rule", "accent", "bad", "warn"):
        for ground in GROUNDS:
            assert ratio(named[edge], named[ground]) >= EDGE, (edge, ground)


def test_no_color_is_given_past_the_named_ones() -> None:
    outside = re.sub(r":root \{[^}]*\}", "", STYLE)
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|\brgba?\(|\bhsla?\(|\bopacity: (?!1\b)[\d.]+", outside) == []
    assert set(colors("dark")) == set(colors("light"))


def test_the_page_around_the_screens_and_the_sign_stand_out() -> None:
    found = [
        [re.findall(rf"(?<![\w-]){what}: (#\w+)", body) for what in ("color", "background")]
        for body in re.findall(r"\{([^{}]*)\}", SCREENS)
    ]
    (ground,) = next(behind for text, behind in found if text and behind)
    used = {(text, (*behind, ground)[0]) for texts, behind in found for text in texts}
    assert len(used) > 2
    assert all(ratio(*pair) >= TEXT for pair in used)
    assert ratio(icon.STONE, icon.GROUND) >= EDGE
