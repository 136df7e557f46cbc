"""The rinse helper on a phone."""

from __future__ import annotations

from tests.web.conftest import Phone

PAGE = "/job/larkspur-breakfast-patio/rinse"
SPOTS = "?field=52,3,9&rinsed=56,4,12&unrinsed=38,3,6&dried=yes"


def test_without_spots_it_says_what_to_do(crew: Phone) -> None:
    text = crew.get(PAGE)
    assert "Dry three hand-sized spots" in text
    assert "It cannot be put back" in text or "habit" in text


def test_dried_spots_are_read(crew: Phone) -> None:
    text = crew.get(PAGE + SPOTS)
    assert crew.status == 200
    assert "Release left" in text
    assert 'fill="#' in text


def test_a_color_that_is_none_is_said_at_its_field(crew: Phone) -> None:
    text = crew.get(f"{PAGE}?field=purple&rinsed=56,4,12&unrinsed=38,3,6")
    assert crew.status == 422
    assert 'id="w-field"' in text
    assert 'value="purple"' in text
    assert "field: " not in text


def test_it_names_the_job_as_people_do(crew: Phone) -> None:
    assert "Cornelius Larkspur-Mudge · breakfast patio</a>" in crew.get(PAGE)
