"""Hostile text in every field: nothing of it reaches a terminal, a spreadsheet, a mail, a calendar or a page raw."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import icalendar
import pypdf
import pytest

from tests.conftest import Ran
from tests.hostile import shop
from tests.hostile.texts import EVERYTHING, TEXTS, formulas, mail_faults, raw, storms

Run = Callable[..., Ran]
DOORS = [argv[:3] for argv in shop.doors(Path("out"))]
_MADE: dict[str, Any] = {}


@pytest.fixture
def base(finishlog: Run, release: Any, tmp_path_factory: pytest.TempPathFactory) -> tuple[shop.Data, Path]:
    """The small shop's export and its attached files, made once."""
    if "base" not in _MADE:
        folder = tmp_path_factory.mktemp("shop")
        _MADE["base"] = shop.export(finishlog, release, folder), folder / "out" / "files"
    made: tuple[shop.Data, Path] = _MADE["base"]
    return made


@pytest.fixture
def hostile_log(
    finishlog: Run, base: tuple[shop.Data, Path], tmp_path_factory: pytest.TempPathFactory
) -> Callable[[str], Path]:
    """A fresh copy of the shop's log with this text in every field."""

    def of(text: str) -> Path:
        if text not in _MADE:
            folder = tmp_path_factory.mktemp("hostile")
            data = shop.hostile(base[0], text)
            done = finishlog(
                "--log", str(folder / "log"), "import", "--new", str(shop.write(data, base[1], folder / "in"))
            )
            assert done.status == 0, done.err[:2000]
            _MADE[text] = folder / "log"
        folder = tmp_path_factory.mktemp("copy")
        shutil.copytree(f"{_MADE[text]}.files", folder / "log.files")
        return Path(shutil.copy(_MADE[text], folder / "log"))

    return of


def through(run: Run, log: Path, argv: tuple[str, ...], out: Path) -> None:
    """One command, and what it printed and wrote."""
    done = run("--log", str(log), *argv)
    no_glyph = "--letters" in argv and "The letter font has no" in done.err and done.err.count("\n") == 1
    assert done.status == (2 if no_glyph else 0), done.err[:1000]
    assert not raw(done.out), (argv, raw(done.out)[:9])
    assert not raw(done.err), (argv, raw(done.err)[:9])
    assert not storms(done.out)
    if "--json" in argv:
        assert done.out.isascii()
        json.loads(done.out)
    for path in sorted(out.rglob("*")):
        if path.is_file():
            assert not list(faults(path)), path


def faults(path: Path) -> Iterator[str]:
    data = path.read_bytes()
    if path.suffix == ".csv":
        yield from formulas(data)
        if path.name == "care.csv":  # an export gives every character back
            yield from raw(data.decode("utf-8-sig"), kept="\r\n")
    elif path.suffix == ".eml":
        yield from mail_faults(data)
    elif path.suffix == ".ics":
        yield from _calendar_faults(data)
    elif path.suffix == ".pdf":
        yield from _page_faults(path)


def _calendar_faults(data: bytes) -> Iterator[str]:
    whole = icalendar.Calendar.from_ical(data)
    assert isinstance(whole, icalendar.Calendar)
    events = whole.walk("VEVENT")
    yield from (() if events and data.count(b"BEGIN:VEVENT\r\n") == len(events) else ("another event",))
    yield from raw(data.decode(), kept="\r\n")
    for event in events:
        yield from raw("".join(str(event.get(key, "")) for key in ("summary", "location", "description")))


def _page_faults(path: Path) -> Iterator[str]:
    reader = pypdf.PdfReader(path)
    yield from raw(str((reader.metadata or {}).get("/Title", "")), kept="")
    if any(word in path.read_bytes() for word in (b"/JavaScript", b"/Launch", b"/URI", b"/EmbeddedFile")):
        yield "something that acts"


@pytest.mark.parametrize("door", range(len(DOORS)), ids=[" ".join(argv) for argv in DOORS])
def test_all_of_it_at_once_through_every_door(
    finishlog: Run, hostile_log: Callable[[str], Path], tmp_path: Path, door: int
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    through(finishlog, hostile_log(EVERYTHING), list(shop.doors(out))[door], out)


@pytest.mark.long
@pytest.mark.parametrize("name", TEXTS)
def test_each_through_every_door(
    finishlog: Run, hostile_log: Callable[[str], Path], tmp_path: Path, name: str
) -> None:
    log = hostile_log(TEXTS[name])
    for number, _ in enumerate(DOORS):
        out = tmp_path / str(number)
        out.mkdir()
        through(finishlog, log, list(shop.doors(out))[number], out)


def test_markup_stands_as_it_was_typed(finishlog: Run, hostile_log: Callable[[str], Path]) -> None:
    assert "=[red]" in finishlog("--log", str(hostile_log(EVERYTHING)), "show", shop.JOB).out


def test_the_table_and_the_drafts_hold_no_raw_text(
    finishlog: Run, hostile_log: Callable[[str], Path], tmp_path: Path
) -> None:
    """What is written to customers shows such characters, as the screens do."""
    log = str(hostile_log(EVERYTHING))
    done = finishlog(
        "--log",
        log,
        "care",
        "--by",
        "2040-01-01",
        "--csv",
        str(tmp_path / "a.csv"),
        "--mail",
        str(tmp_path / "m"),
    )
    assert done.status == 0, done.err
    text = (tmp_path / "a.csv").read_text("utf-8-sig")
    assert "\\x1b[31mX\\x9b2J\\u202e" in text
    [draft] = (tmp_path / "m").iterdir()
    assert not mail_faults(draft.read_bytes())


@pytest.mark.parametrize("name", ["very long", "storm"])
def test_a_customer_whose_name_nobody_could_type_is_written_to(
    finishlog: Run, hostile_log: Callable[[str], Path], tmp_path: Path, name: str
) -> None:
    """An import may bring a longer name than a person may type; the entry keeps its beginning."""
    log = str(hostile_log(TEXTS[name]))
    done = finishlog("--log", log, "care", "--by", "2040-01-01", "--again", "--mail", str(tmp_path / "m"))
    assert done.status == 0, done.err
    assert len(list((tmp_path / "m").iterdir())) == 1
    assert finishlog("--log", log, "care", shop.JOB, "written").status == 0


@pytest.mark.parametrize("argv", shop.ERRORS, ids=" ".join)
@pytest.mark.parametrize(
    "name",
    ["everything", *(pytest.param(name, marks=pytest.mark.long) for name in TEXTS), "half a character"],
)
def test_a_refusal_names_it_safely_in_one_line(
    finishlog: Run,
    base: tuple[shop.Data, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    argv: tuple[str, ...],
) -> None:
    monkeypatch.chdir(tmp_path)
    text = {"everything": EVERYTHING, "half a character": "\ud800x", **TEXTS}[name].replace("\0", "")
    log = Path(shutil.copy(base[1].parent.parent / "made.finishlog", tmp_path / "log"))
    done = finishlog("--log", str(log), *(word.replace("{}", text) for word in argv))
    assert done.status in (0, 2, 3), done
    assert not raw(done.out + done.err), raw(done.out + done.err)[:9]
    assert not storms(done.out + done.err)
    if done.status and argv[0] != "photo":  # a line for each photo left out
        assert done.err.count("\n") == 1
        assert len(done.err) < 2500
