"""Comparison in words. The steps are ours (no source); the distances under them are CIEDE2000."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from finishlog.color.notation.space import difference
from finishlog.color.notation.words import compare, how_much

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
