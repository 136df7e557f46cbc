"""Letters in the scripts of the shop's customers: set as written, or said which letter lacks which character."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.desk.due import care
from finishlog.desk.due.care_list import Going
from finishlog.desk.jobs import sender
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.papers.layout.ink import MISSING, Ink
from finishlog.papers.layout.style import paper
from finishlog.papers.reminders import send
from finishlog.papers.reminders.letters import letters
from tests.desk.care_shop import Clock, care_shop, new_job, poured, seal
from tests.papers import reading
from tests.papers.reminders.test_calendar import LINE

MADE = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
SENDER = {"shop_name": "Teakettle Slabs", "shop_street": "1 Kiln Yard"}


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    with care_shop(tmp_path, Clock()) as made:
        sender.keep(made, SENDER)
        yield made


def due(services: Services, customer: str, handle: str) -> None:
    from finishlog.desk.jobs import edit

    edit.new_job(services, {"customer": customer, "job": "walk", "street": "9 Kiln Lane", "handle": handle})
    poured(services, handle)
    seal(services, "2023-05-10 10:00", handle)


@pytest.mark.parametrize(
    "name",
    ["Łukasz Żółty-Őry", "Ngọc Bích Trần Thị Ỷ", "Ζωή Παπαϊωάννου", "Юлія Щедрик", "Şükrü Çağlı", "שושנה"],
)
def test_these_scripts_are_set_as_they_are_written(name: str) -> None:
    assert Ink(paper("letter")).lacking(name) == ""
    line = replace(LINE, customer=replace(LINE.customer, name=name))
    told = reading.text(letters([Going(line, "remind")], SENDER, MADE))
    assert MISSING not in told
    assert name in told or name[::-1] in told  # Hebrew stands on paper from the right


@pytest.mark.parametrize(
    ("name", "lacking"),
    [("田中 太郎", "田中太郎"), ("محمد", "محد"), ("राम", "राम"),
     ("Otto 🪵", "🪵"), ("ไทย", "ไทย"), ("이순", "이순")],
)  # fmt: skip
def test_what_the_font_lacks_or_cannot_join_is_known(name: str, lacking: str) -> None:
    assert Ink(paper("letter")).lacking(name) == lacking


def test_whose_letter_lacks_a_character_is_said_and_nothing_wrong_is_printed(
    services: Services, tmp_path: Path
) -> None:
    due(services, "田中 Quillfeather", "tanaka")
    due(services, "Юлія Puddlecombe", "yulia")
    target = tmp_path / "out.pdf"
    said = " ".join(send.write(services, care.book(services), {"letters": str(target)}))
    [page] = reading.pages(target.read_bytes())
    assert "Юлія Puddlecombe" in page
    assert "1 letter in" in said
    assert "The font has no 田 中 for 田中 Quillfeather · walk: no letter." in said
    states = {line.job: line.state for line in care.book(services).lines}
    assert states == {"tanaka": "due", "yulia": "written"}


def test_only_such_customers_is_nobody_to_write_to(services: Services, tmp_path: Path) -> None:
    due(services, "田中", "tanaka")
    with pytest.raises(InputError, match="Nobody to write to") as refused:
        send.write(services, care.book(services), {"letters": str(tmp_path / "out.pdf")})
    assert "田 中" in refused.value.line()
    assert not (tmp_path / "out.pdf").exists()
    send.write(services, care.book(services), {"csv": str(tmp_path / "out.csv")})
    assert "田中" in (tmp_path / "out.csv").read_text(encoding="utf-8")


def test_the_shops_own_words_are_looked_at_too(services: Services, tmp_path: Path) -> None:
    new_job(services, "Barnaby Puddlecombe", "walk", "14 Teakettle Lane")
    sender.keep(services, {"shop_name": "田中 Slabs"})
    with pytest.raises(InputError, match="no 田 中 for “Shop”"):
        send.write(services, care.book(services), {"letters": str(tmp_path / "out.pdf")})
