"""Screen colors: the two themes, and terminals without colors.

Background, bars and cursor are neutral gray: a tinted surround shifts how the eye sees a swatch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from rich.segment import Segment
from textual.filter import LineFilter
from textual.theme import Theme

if TYPE_CHECKING:
    from rich.console import Console
    from textual.color import Color

Depth = Literal["full", "gray", "glyphs"]
"""How swatches are drawn: 24-bit color, a ramp of grays by L*, or shade glyphs."""

SHADE = {
    "ground": "#1b1b1b",
    "bar": "#262626",
    "field": "#2f2f2f",
    "cursor": "#3a3a3a",
    "text": "#ececec",
    "muted": "#ababab",
    "accent": "#86b9ee",
    "ok": "#8fd39c",
    "warn": "#f2b45c",
    "bad": "#ff9a8a",
    "rule": "#6c6c6c",
    "band": "#4d6e92",
}
FULL_SUN = {
    "ground": "#ffffff",
    "bar": "#ebebeb",
    "field": "#e2e2e2",
    "cursor": "#d2d2d2",
    "text": "#000000",
    "muted": "#383838",
    "accent": "#003a80",
    "ok": "#00461a",
    "warn": "#5e2d00",
    "bad": "#7d000e",
    "rule": "#6c6c6c",
    "band": "#6690c6",
}
PREFIX = "house-"
"""Our tokens in the style sheet: `$house-muted`. Textual's own names would collide."""


def _theme(name: str, tokens: dict[str, str], dark: bool) -> Theme:
    return Theme(
        name=name,
        dark=dark,
        primary=tokens["accent"],
        secondary=tokens["accent"],
        accent=tokens["accent"],
        background=tokens["ground"],
        surface=tokens["bar"],
        panel=tokens["field"],
        foreground=tokens["text"],
        success=tokens["ok"],
        warning=tokens["warn"],
        error=tokens["bad"],
        variables={
            **variables(tokens),
            "input-cursor-background": tokens["accent"],
            "input-cursor-foreground": tokens["ground"],
            "input-selection-background": tokens["cursor"],
            "block-cursor-background": tokens["cursor"],
            "block-cursor-foreground": tokens["text"],
            "block-cursor-text-style": "bold",
            "block-hover-background": tokens["field"],
            "scrollbar": tokens["cursor"],
            "scrollbar-hover": tokens["muted"],
            "scrollbar-active": tokens["accent"],
            "scrollbar-background": tokens["ground"],
            "scrollbar-background-hover": tokens["ground"],
            "scrollbar-background-active": tokens["ground"],
            "scrollbar-corner-color": tokens["ground"],
        },
    )


def variables(tokens: dict[str, str]) -> dict[str, str]:
    """The tokens as variables of the style sheet."""
    return {PREFIX + name: value for name, value in tokens.items()}


THEMES = {"shade": _theme("shade", SHADE, dark=True), "full-sun": _theme("full-sun", FULL_SUN, dark=False)}


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two sRGB hex colors, 1 to 21 (WCAG 2.2, contrast ratio)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def luminance(color: str) -> float:
    """Relative luminance of an sRGB hex color, 0 to 1 (IEC 61966-2-1 decoding; WCAG 2.2)."""
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def lightness(color: str) -> float:
    """CIE L* of an sRGB hex color, 0 to 100 (CIE 15:2018, from relative luminance)."""
    y = luminance(color)
    return 116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


def gray_of(color: str) -> str:
    """The gray of the 256-color ramp closest in L*.

    The ramp's levels are 8, 18 … 238; the answer is the value that Rich reduces to that entry.
    """
    wanted = lightness(color)
    step = min(range(24), key=lambda n: abs(lightness(_hex_gray(8 + 10 * n)) - wanted))
    return _hex_gray(round((step + 1) * 255 / 25))


def _hex_gray(level: int) -> str:
    return f"#{level:02x}{level:02x}{level:02x}"


def depth_of(console: Console, no_color: bool) -> Depth:
    """How swatches are drawn on this terminal."""
    if no_color or console.color_system in (None, "standard", "windows"):
        return "glyphs"
    return "gray" if console.color_system == "256" else "full"


class Uncolored(LineFilter):
    """NO_COLOR in full: no color reaches the terminal; bold, underline and reverse stay."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Drops both colors of every segment, keeps bold, underline and reverse."""
        return [
            Segment(text, None if style is None else style.without_color, control)
            for text, style, control in segments
        ]
