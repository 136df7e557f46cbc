"""What goes on what: common practice, no source."""

from __future__ import annotations

import pytest

from finishlog.trade.sealing.chemistry import CHEMISTRIES, chemistry_of
from finishlog.trade.sealing.compatibility import compatible

REAL = [each for each in CHEMISTRIES if each != "none"]


def test_it_is_not_symmetrical() -> None:
    assert compatible("solvent_acrylic", "epoxy").fits == "no"
    assert compatible("epoxy", "solvent_acrylic").fits == "trial"
    assert "wrinkle" in compatible("water_acrylic", "solvent_acrylic").words
    assert "bond" in compatible("solvent_acrylic", "water_acrylic").words


@pytest.mark.parametrize("new", REAL)
def test_every_pair_is_answered_and_bare_concrete_takes_any(new: str) -> None:
    assert compatible("none", new).fits == "usual"
    assert {compatible(old, new).fits for old in REAL} <= {"usual", "trial", "no"}


@pytest.mark.parametrize(("old", "new"), [(None, "epoxy"), ("epoxy", None), ("wax", "urethane")])
def test_unknown_is_a_rag_test_and_a_trial(old: str | None, new: str | None) -> None:
    found = compatible(old, new)
    assert found.fits == "unknown"
    assert "rag" in found.words
    assert "2 × 2 ft" in found.words


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("solvent acrylic", "solvent_acrylic"),
        ("Water-based acrylic", "water_acrylic"),
        ("acrylic", None),
        ("solvent urethane", "urethane"),
        ("silane", "penetrating"),
        ("", None),
        (None, None),
        ("wax", None),
    ],
)
def test_what_a_can_says(text: str | None, key: str | None) -> None:
    assert chemistry_of(text) == key


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("siloxane", "penetrating"),
        ("lithium silicate", "penetrating"),
        ("none", "none"),
        ("water_based_acrylic", "water_acrylic"),
        ("solvent or water acrylic", None),
        ("acrylic urethane", "urethane"),
        ("Epoxy", "epoxy"),
    ],
)
def test_what_more_a_can_says(text: str, key: str | None) -> None:
    assert chemistry_of(text) == key


def test_a_pair_in_words() -> None:
    assert compatible("none", "epoxy").words.startswith("epoxy over bare concrete: usual practice")
    assert compatible(None, "solvent_acrylic").words.startswith(
        "solvent acrylic over an unknown sealer: unknown."
    )
    assert compatible("none", "none").fits == "unknown"
