"""Comparison in words. The steps are ours (no source); the distances under them are CIEDE2000."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from finishlog.color.notation.space import difference
from finishlog.color.notation.words import compare, how_much, nearness

LABS = st.tuples(st.floats(5, 95), st.floats(-30, 40), st.floats(-30, 50))
SHIFTS = st.tuples(st.floats(-6, 6), st.floats(-6, 6), st.floats(-6, 6))
OPPOSITE = {
    "lighter": "darker",
    "stronger": "duller",
    "warmer": "cooler",
    "yellower": "redder",
    "greener": "more violet",
}
OPPOSITE |= {second: first for first, second in OPPOSITE.items()}
BUFF = (62.0, 4.0, 16.0)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (BUFF, BUFF, "alike"),
        (BUFF, (62.3, 4.2, 16.3), "alike"),
        (BUFF, (62.0, 5.2, 16.3), "a touch warmer, same lightness"),
        (BUFF, (62.0, 2.8, 16.3), "a touch cooler, same lightness"),
        (BUFF, (58.0, 4.0, 16.0), "plainly darker, same color"),
        (BUFF, (68.0, 4.0, 16.0), "clearly lighter, same color"),
        (BUFF, (62.0, 5.0, 20.0), "plainly stronger, same lightness"),
        (BUFF, (62.0, 3.0, 12.0), "plainly duller, same lightness"),
        (BUFF, (56.0, 5.0, 20.0), "clearly darker, plainly stronger"),
        ((62.0, 0.5, 2.0), (60.0, 4.0, 14.0), "clearly warmer, a touch darker"),
        ((62.0, 4.0, 14.0), (62.0, 0.5, 2.0), "clearly cooler, same lightness"),
        ((62.0, 0.0, 0.0), (62.0, -5.0, 3.0), "clearly greener, same lightness"),
        ((50.0, 12.0, 14.0), (50.0, 10.0, 18.0), "plainly yellower, same lightness"),
        ((50.0, 10.0, 18.0), (50.0, 12.0, 14.0), "plainly redder, same lightness"),
    ],
)
def test_sentences(old, new, words) -> None:
    assert compare(old, new) == words


@pytest.mark.parametrize(
    ("de00", "word"),
    [
        (0, "alike"),
        (0.999, "alike"),
        (1, "a touch"),
        (1.999, "a touch"),
        (2, "plainly"),
        (4, "plainly"),
        (4.001, "clearly"),
    ],
)
def test_steps(de00, word) -> None:
    assert how_much(de00) == word


@given(LABS, SHIFTS)
def test_the_sentence_never_says_less_than_the_distance(old, shift) -> None:
    new = tuple(part + move for part, move in zip(old, shift, strict=True))
    whole = difference(old, new)
    said = compare(old, new)
    assert (said == "alike") == (whole.de00 < 1)
    assert said.startswith(how_much(whole.de00))
    assert "lighter" not in said or new[0] > old[0]
    assert "darker" not in said or new[0] < old[0]
    assert ("same lightness" in said) <= (abs(whole.lightness) < 1)


@given(LABS, SHIFTS)
def test_the_other_way_round_says_the_opposite(old, shift) -> None:
    new = tuple(part + move for part, move in zip(old, shift, strict=True))
    there, back = difference(old, new), difference(new, old)
    sizes = sorted(abs(part) for part in (there.lightness, there.chroma, there.hue))
    # no two parts equal and none on a step, where rounding decides order or word
    assume(all(b - a > 1e-6 for a, b in pairwise(sizes)))
    assume(all(abs(part - step) > 1e-6 for part in (*sizes, there.de00, back.de00) for step in (1, 2, 4)))
    assume(compare(old, new) != "alike")
    phrases = compare(old, new).split(", ")
    assert compare(new, old) == ", ".join(_opposite(phrase) for phrase in phrases)


def _opposite(phrase: str) -> str:
    for word, other in OPPOSITE.items():
        if phrase.endswith(word):
            return phrase.removesuffix(word) + other
    return phrase


@pytest.mark.parametrize(("de00", "word"), [(0.999, "alike"), (1, "close"), (4, "close"), (4.001, "far")])
def test_how_near_a_slab_is_to_what_was_asked(de00, word) -> None:
    assert nearness(de00) == word


GRAY = (62.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("angle", "word"),
    [(57, "warmer"), (116, "warmer"), (118, "greener"), (176, "greener"), (178, "cooler"), (237, "cooler"),
     (296, "cooler"), (298, "more violet"), (356, "more violet"), (-2, "warmer")],
)  # fmt: skip
def test_from_gray_a_color_turns_around_the_warm_pole_at_57_degrees(angle, word) -> None:
    """A third of the circle is warm, a third cool, between them green on one side and violet on the other."""
    there = (62.0, 5 * math.cos(math.radians(angle)), 5 * math.sin(math.radians(angle)))
    assert compare(GRAY, there).split(",")[0].endswith(word)


@pytest.mark.parametrize(
    ("before", "after", "word"),
    [(40, 25, "warmer"), (25, 40, "cooler"), (-40, -25, "warmer"), (-8, 8, "yellower"), (8, -8, "redder"),
     (-172, 172, "greener"), (172, -172, "more violet")],
)  # fmt: skip
def test_a_color_that_turns_is_named_by_the_side_it_turns_to(before, after, word) -> None:
    """Degrees from the warm pole."""
    turns = (math.radians(57 + angle) for angle in (before, after))
    old, new = ((62.0, 20 * math.cos(turn), 20 * math.sin(turn)) for turn in turns)
    assert compare(old, new).split(",")[0].endswith(word)


def test_below_a_chroma_of_eight_it_is_a_tint_and_no_strength() -> None:
    """From a stronger one of that hue to a chroma of 8: duller; below it cooler."""
    assert "duller" in compare((50, 15.0, 0.0), (50, 8.0, 0.0))
    assert "duller" not in compare((50, 15.0, 0.0), (50, 7.99, 0.0))
