"""The two house themes: the contrast table of the design, computed again, and swatches on 256 colors."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import pytest
from rich.color import Color, ColorSystem

from finishlog.color.notation.space import lab_to_hex
from finishlog.records.answers import DemoStart
from finishlog.tui.paint.theme import FULL_SUN, PREFIX, SHADE, THEMES, contrast, gray_of, lightness

DEMO = DemoStart("puddlecombe-patio", "22x14", "4 in")
GROUNDS = ("ground", "bar", "field", "cursor")
TEXTS = ("text", "muted", "accent", "ok", "warn", "bad")
TABLE = {
    # the design's own figures: contrast on ground, bar, field, cursor
    "shade": {
        "text": (14.6, 12.8, 11.3, 9.6),
        "muted": (7.5, 6.6, 5.8, 5.0),
        "accent": (8.4, 7.3, 6.5, 5.5),
        "ok": (9.8, 8.6, 7.6, 6.5),
        "warn": (9.4, 8.3, 7.3, 6.2),
        "bad": (8.4, 7.4, 6.5, 5.5),
        "rule": (3.3, 2.9, 2.5, 2.2),
    },
    "full-sun": {
        "text": (21.0, 17.6, 16.2, 13.9),
        "muted": (11.7, 9.8, 9.1, 7.8),
        "accent": (11.0, 9.2, 8.5, 7.2),
        "ok": (11.1, 9.3, 8.6, 7.3),
        "warn": (11.3, 9.5, 8.8, 7.5),
        "bad": (11.2, 9.4, 8.6, 7.4),
        "rule": (5.3, 4.4, 4.1, 3.5),
    },
}
TOKENS = {"shade": SHADE, "full-sun": FULL_SUN}


@pytest.mark.parametrize("name", TABLE)
def test_the_contrast_table_is_what_the_colors_give(name: str) -> None:
    tokens = TOKENS[name]
    for token, wanted in TABLE[name].items():
        given = tuple(contrast(tokens[token], tokens[ground]) for ground in GROUNDS)
        assert given == pytest.approx(wanted, abs=0.05001), token


def test_text_is_aa_in_shade_and_aaa_in_full_sun() -> None:
    """WCAG 2.2, success criteria 1.4.3 (4.5) and 1.4.6 (7)."""
    for tokens, least in ((SHADE, 4.5), (FULL_SUN, 7.0)):
        assert min(contrast(tokens[t], tokens[g]) for t in TEXTS for g in GROUNDS) >= least
        assert contrast(tokens["rule"], tokens["ground"]) >= 3.0
        assert contrast(tokens["band"], tokens["ground"]) >= 3.0


def test_contrast_of_black_on_white_is_21() -> None:
    """WCAG 2.2, definition of contrast ratio."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("name", TABLE)
def test_only_slabs_are_warm(name: str) -> None:
    for ground in GROUNDS:
        red, green, blue = (TOKENS[name][ground][i : i + 2] for i in (1, 3, 5))
        assert red == green == blue


def test_every_theme_knows_every_token() -> None:
    assert SHADE.keys() == FULL_SUN.keys()
    for theme in THEMES.values():
        assert {PREFIX + token for token in SHADE} <= theme.variables.keys()


def test_lightness_is_that_of_cielab() -> None:
    """CIE 15:2018: L* of black 0, of white 100; of sRGB #777777 50.03 (coloraide gives the same)."""
    assert lightness("#000000") == pytest.approx(0.0)
    assert lightness("#ffffff") == pytest.approx(100.0)
    assert lightness("#777777") == pytest.approx(50.03, abs=0.01)


def test_256_colors_keep_the_lightness_of_slabs() -> None:
    """2,000 slab colors: L* within 2.3 on the terminal's own ramp (levels 8, 18 … 238)."""
    dice = random.Random(7)
    worst = 0.0
    for _ in range(2000):
        slab = lab_to_hex((dice.uniform(30, 75), dice.uniform(0, 12), dice.uniform(2, 25)))
        entry = Color.parse(gray_of(slab)).downgrade(ColorSystem.EIGHT_BIT).number
        assert entry is not None
        assert 232 <= entry <= 255
        level = 8 + 10 * (entry - 232)
        worst = max(worst, abs(lightness(f"#{level:02x}{level:02x}{level:02x}") - lightness(slab)))
    assert worst <= 2.3


async def test_another_theme_repaints_every_open_screen_at_once(
    open_app: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The colors that are on the screen, not those of the tokens: what was painted before is painted anew."""

    def colors(stage: Any) -> set[str]:
        strips = stage.app.screen._compositor.render_strips()
        styles = [segment.style for strip in strips for segment in strip if segment.style]
        return {style.bgcolor.name for style in styles if style.bgcolor is not None}

    async with open_app(demo=DEMO, size=(120, 36)) as stage:
        await stage.press("5")
        await stage.press("2", "enter")
        dark = {SHADE["ground"], SHADE["bar"], SHADE["field"], SHADE["cursor"]}
        assert colors(stage) & dark
        await stage.app.run_action("app.dress('full-sun')")
        await stage.settle()
        assert not colors(stage) & dark
        await stage.press("escape")
        assert not colors(stage) & dark
        await stage.press("5")
        assert not colors(stage) & dark
