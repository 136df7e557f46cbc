"""The label of a bucket of reclaimed release."""

from __future__ import annotations

import pytest

from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.papers import make
from tests.papers import reading

JOB = "thrupp-button-back-step"


def test_it_says_what_it_is_whence_and_what_it_is_good_for(services: Services) -> None:
    record.record(services, JOB, "sweep", {"at": "2026-06-05 7a", "reclaimed_lb": "4"})
    made = make.bucket_label(services, "Moth Pocket", "P-400")
    [page] = reading.pages(made)
    for words in ("Reclaimed release", "Moth Pocket", "lot P-400", "4 lb in it", "Jun 5 2026",
                  "Ursula Thrupp-Button 4 lb", "Never on a match", "Wear a respirator."):  # fmt: skip
        assert words in page
    assert made == make.bucket_label(services, "Moth Pocket", "P-400")


def test_it_is_one_page_in_either_paper_and_unit(services: Services) -> None:
    assert (
        len(reading.pages(make.bucket_label(services, "moth pocket", None, paper="a4", units="metric"))) == 1
    )


def test_of_what_was_never_reclaimed_there_is_none(services: Services) -> None:
    for product, lot in (("Heron's Elbow", None), ("Moth Pocket", "P-398"), ("Nobody's Powder", None)):
        with pytest.raises(InputError, match="was reclaimed"):
            make.bucket_label(services, product, lot)
