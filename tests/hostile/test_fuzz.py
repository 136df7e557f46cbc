"""Readers of text owe a value or one clear line, whatever they are given."""

from __future__ import annotations

import time

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests.hostile.readers import TARGETS, holds

BUDGET_CPU_S = 600
"""CPU of the long run, shared by all readers."""
AT_ONCE = 500
QUICK = 25
"""Texts for each reader in the default suite."""

PIECES = (
    *(
        "\0",
        "\x1b[31m",
        "\u202e",
        "\u200b",
        "\ud800",
        "\u0301" * 40,
        "é",
        "İ",
        "ß",
        "１",
        "٣",
        "½",
        "²",
        "−",
        "×",
    ),
    *(
        "'",
        '"',
        "/",
        "//",
        "../",
        ",",
        ".",
        ":",
        ";",
        "-",
        "--",
        "+",
        "%",
        "#",
        "$",
        "@",
        "=",
        "(",
        ")",
        "[",
        "]",
        "{",
        "}",
    ),
    *("nan", "inf", "1e309", "1e-400", "9" * 30, "0", "-0", "1/0", "0x10", "1_000", "1,350", "1.350", "00"),
    *(
        " ",
        "\t",
        "\n",
        "\r\n",
        "\u2028",
        "\u00a0",
        "lb",
        "ft",
        "in",
        "yd",
        "kg",
        "m",
        "about ",
        "ago",
        "noon",
        "feb 29",
    ),
    *(
        "9999-12-31",
        "0001-01-01",
        "23:59",
        "24:00",
        "2026-03-08 02:30",
        "-99999999d",
        "null",
        "true",
        "\\u0000",
        "x" * 150,
    ),
)


@st.composite
def _texts(draw: st.DrawFn, seeds: tuple[str, ...]) -> str:
    """A good text with some of it cut, doubled or put in its place, or any text at all."""
    if draw(st.integers(0, 4)) == 0:
        return draw(st.text(st.characters(exclude_categories=()), max_size=120))
    text = draw(st.sampled_from(seeds))
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = draw(st.integers(start, min(len(text), start + 12)))
        new = draw(
            st.one_of(
                st.sampled_from(PIECES), st.just(text[start:end] * 2), st.sampled_from(seeds), st.just("")
            )
        )
        text = text[:start] + new + text[end:]
    return text[:600]


def fuzz(name: str, number: int, examples: int) -> None:
    """So many texts through one reader; `number` chooses which."""
    target = TARGETS[name]

    @seed(number)
    @settings(
        max_examples=examples,
        database=None,
        suppress_health_check=list(HealthCheck),
        deadline=None,
        phases=(Phase.generate, Phase.shrink),
    )
    @given(_texts(target.seeds))
    def run(text: str) -> None:
        holds(target, text)

    run()


@pytest.mark.parametrize("name", TARGETS)
def test_the_texts_that_a_reader_takes(name: str) -> None:
    """The seeds themselves, and a few broken ones."""
    for text in TARGETS[name].seeds:
        holds(TARGETS[name], text)
    fuzz(name, 1, QUICK)


@pytest.mark.long
@pytest.mark.parametrize("name", TARGETS)
def test_a_reader_owes_a_value_or_one_line(name: str) -> None:
    ends, number = time.process_time() + BUDGET_CPU_S / len(TARGETS), 2
    while time.process_time() < ends:
        fuzz(name, number, AT_ONCE)
        number += 1
