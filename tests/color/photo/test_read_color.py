"""A color read from what a person types."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.color.notation.names import need_color, read_color
from finishlog.color.notation.space import hex_to_lab, munsell_to_lab
from finishlog.errors import InputError


def test_three_spellings() -> None:
    assert read_color("#A9927a") == hex_to_lab("#a9927a")
    assert read_color(" 10YR 6/3 ") == munsell_to_lab("10YR 6/3")
    assert read_color("n 5/") == read_color("N5/") == munsell_to_lab("N5")
    assert read_color("62,4,16") == read_color("62, +4.0, 16") == (62, 4, 16)
    assert read_color("62,-4.5,.5") == (62, -4.5, 0.5)
    assert read_color("#123456") == hex_to_lab("#123456")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "buff",
        "#4412",
        "#441",
        "#K4412",
        "#",
        "Larkspur Lane, 12, rear",
        "62,4",
        "62 4 16",
        "62,4,16,2",
        "spring 2025",
        "3/4",
        "24'6\"",
        "N5",
        "K-131",
        "5 Rye 6/3",
        "[/nope]",
        "6" * 400,
        "1," * 400,
        "\0",
    ],
)
def test_not_meant_as_a_color(text) -> None:
    assert read_color(text) is None
    with pytest.raises(InputError, match="not a color") as failure:
        need_color(text)
    assert "#a9927a, 10YR 6/3 or 62,4,16" in failure.value.line()


@pytest.mark.parametrize(
    ("text", "example"),
    [
        ("#a9927g", "#a9927a"),
        ("#abc", "#a9927a"),
        ("101,4,16", "62,4,16"),
        ("-1,4,16", "62,4,16"),
        ("62,129,16", "62,4,16"),
        ("62,4,-129", "62,4,16"),
        ("62,4,1e309", "62,4,16"),
        ("6_2,4,16", "62,4,16"),
        ("0x10,4,16", "62,4,16"),
        ("nan,4,16", "62,4,16"),
        ("62,inf,16", "62,4,16"),
        ("٦٢,٤,١٦", "62,4,16"),
        ("62,4.,16", "62,4,16"),
        ("11YR 6/3", "10YR 6/3"),
        ("10YR 6/", "10YR 6/3"),
        ("10YR 6/3x", "10YR 6/3"),
        ("10YR 0/3", "10YR 6/3"),
        ("10YR 6/60", "10YR 6/3"),
        ("N 12/", "N 5/"),
    ],
)
def test_looks_like_one_and_is_wrong(text, example) -> None:
    with pytest.raises(InputError) as failure:
        read_color(text)
    assert failure.value.example == example
    assert failure.value.exit_status == 2
    with pytest.raises(InputError):
        need_color(text)


@given(st.one_of(st.text(), st.text(alphabet="#0159aAfFgNRYGBP/., -+enif_", max_size=14)))
def test_any_text_is_a_color_nothing_or_a_clear_failure(text) -> None:
    try:
        lab = read_color(text)
    except InputError:
        return
    assert lab is None or (0 <= lab[0] <= 100.001 and all(abs(part) < 200 for part in lab))
