"""An entry that comes with an identity of its own is kept once, however often it is sent."""

from __future__ import annotations

import pytest

from finishlog.desk.record import record
from finishlog.errors import InputError
from tests.desk.conftest import SheetShop

UID = "5f" * 16
ROW = {"customer": "Ottoline Quillfeather", "job": "back patio", "poured on": "2026-06-15"}


def test_what_is_sent_twice_is_kept_once(sheet_shop: SheetShop) -> None:
    sheet_shop.bring(ROW)
    handle = sheet_shop.only().handle
    first = record.record(sheet_shop.services, handle, "sweep", {"note": "dry"}, uid=UID, because="tried")
    again = record.record(sheet_shop.services, handle, "sweep", {"note": "dry"}, uid=UID)
    assert (first.entry.uid, first.was_there) == (UID, False)
    assert (again.entry, again.was_there) == (first.entry, True)
    assert [entry.kind for entry in sheet_shop.only().entries].count("sweep") == 1


def test_one_that_was_corrected_since_is_not_kept_anew(sheet_shop: SheetShop) -> None:
    sheet_shop.bring(ROW)
    handle = sheet_shop.only().handle
    first = record.record(sheet_shop.services, handle, "sweep", {}, uid=UID, because="tried")
    record.record(
        sheet_shop.services, handle, "sweep", {"note": "wet"}, replaces=first.entry.number, because="tried"
    )
    before = len(sheet_shop.only().history)
    assert record.record(sheet_shop.services, handle, "sweep", {}, uid=UID).was_there
    assert len(sheet_shop.only().history) == before


@pytest.mark.parametrize("uid", ["x", "5F" * 16, "5f" * 16 + "\n", "' OR 1=1"])
def test_an_identity_is_of_our_form(sheet_shop: SheetShop, uid: str) -> None:
    sheet_shop.bring(ROW)
    with pytest.raises(InputError, match="identity"):
        record.record(sheet_shop.services, sheet_shop.only().handle, "sweep", {}, uid=uid)
