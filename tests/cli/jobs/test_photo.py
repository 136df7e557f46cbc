"""`photo` as another program would call it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Ran
from tests.desk.photo_making import jpeg

Run = Callable[..., Ran]
JOB = "ottoline-quillfeather-back-patio"
KEYS = {
    "entry", "file", "sha256", "format", "width_px", "height_px", "taken_at", "clock", "age_h", "area", "damp",
    "sealed", "light", "readings", "notes",
}  # fmt: skip


@pytest.fixture
def run(finishlog: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """The command line on a log with one job, poured yesterday at ten."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    log = str(tmp_path / "shop.finishlog")

    def on_log(*argv: str) -> Ran:
        return finishlog("--log", log, *argv)

    assert on_log("new").status == 0
    made = on_log(
        "job", "new", "--customer", "Ottoline Quillfeather", "--job", "back patio", "--areas", "field, border"
    )
    assert made.status == 0, made.err
    assert on_log("record", JOB, "pour", "--at", "yesterday 10a").status == 0
    return on_log


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "phone"
    made.mkdir()
    (made / "a.jpg").write_bytes(jpeg("2026:06:16 06:30:00", "-05:00", seed=1))
    (made / "b.jpg").write_bytes(jpeg("2026:06:16 06:45:00", seed=2))
    (made / "c.jpg").write_bytes(jpeg("1970:01:01 00:00:00", seed=3))
    (made / "d.jpg").write_text("no picture")
    return made


def test_a_folder_as_json(run: Run, folder: Path) -> None:
    ran = run(
        "photo",
        "otto",
        str(folder),
        "--area",
        "border",
        "--dry",
        "--sealed",
        "--light",
        "open shade",
        "--json",
    )
    done = ran.json()
    assert set(done) == {"job", "kept", "doubles", "asked", "left_out"}
    assert done["job"] == JOB
    assert [set(line) for line in done["kept"]] == [KEYS, KEYS]
    first, second = done["kept"]
    assert (first["file"], first["entry"], first["taken_at"], first["clock"], first["age_h"]) == (
        "a.jpg", 2, "2026-06-16T11:30:00+00:00", "camera offset", 20.5
    )  # fmt: skip
    assert (second["taken_at"], second["clock"]) == ("2026-06-16T11:45:00+00:00", "site wall time")
    assert (first["area"], first["damp"], first["sealed"], first["light"]) == (
        "border",
        False,
        True,
        "open_shade",
    )
    assert (first["width_px"], first["height_px"], first["format"]) == (64, 48, "JPEG")
    assert [asked["file"] for asked in done["asked"]] == ["c.jpg"]
    assert [left["file"] for left in done["left_out"]] == ["d.jpg"]
    assert "c.jpg: Its time is wrong" in ran.err
    assert "d.jpg: It is text" in ran.err


def test_a_folder_in_words_and_again(run: Run, folder: Path) -> None:
    ran = run("photo", JOB, str(folder), "--dry")
    assert ran.status == 0
    assert ran.out.startswith("2 photos kept, 1 asked about, 1 left out.\n")
    assert "b.jpg: dry" in ran.out
    assert "taken as the" in ran.out
    again = run("photo", JOB, str(folder), "--taken", "Jun 16 7a")
    assert again.out.startswith("1 photo kept, 2 already there, 1 left out.\n")
    assert "a.jpg: Already in the log, as entry 2." in again.err
    assert [line.split()[0] for line in run("photo", JOB).out.splitlines() if line[0] != " "] == [
        "2",
        "3",
        "4",
    ]
    assert [line["file"] for line in run("photo", JOB, "--json").json()] == ["a.jpg", "b.jpg", "c.jpg"]
    assert "photo taken" in run("show", JOB).out
    assert run("check").status == 0


def test_nothing_that_came_in_is_status_2(run: Run, folder: Path, tmp_path: Path) -> None:
    for argv in (
        (str(folder / "d.jpg"),), (str(folder / "c.jpg"),), (str(tmp_path / "nowhere.jpg"),),
        (str(folder / "a.jpg"), "--area", "porch"), (str(folder / "a.jpg"), "--light", "moon"),
        (str(folder / "a.jpg"), "--taken", "someday"), ("",), (str(folder / "a.jpg"), "--taken", "Jun 10"),
        (str(folder / "a.jpg"), "--damp", "--dry"),
    ):  # fmt: skip
        ran = run("photo", JOB, *argv)
        assert ran.status == 2, argv
        assert ran.err.splitlines()[-1].startswith("finishlog: "), argv
    assert run("photo", JOB, "--json").json() == []
    assert run("photo", JOB).out == "No photos yet.\n"


def test_odd_ones_come_in_with_a_reason(run: Run, folder: Path) -> None:
    (folder / "e.jpg").write_bytes(jpeg("2026:06:10 06:30:00", seed=5))
    assert run("photo", JOB, str(folder / "e.jpg")).status == 2
    assert run("photo", JOB, str(folder / "e.jpg"), "--because", "the forms, before the pour").status == 0
    [line] = run("photo", JOB, "--json").json()
    assert (line["file"], line["age_h"] < 0) == ("e.jpg", True)


def test_the_names_of_files_reach_no_terminal_raw(run: Run, folder: Path) -> None:
    (folder / "\x1b]0;x\x07e.jpg").write_bytes(jpeg(seed=6))
    (folder / "\x1b[31mf.jpg").write_text("none")
    ran = run("photo", JOB, str(folder), "--taken", "7a")
    assert "\x1b" not in ran.out + ran.err
    assert "\x1b" not in run("photo", JOB).out
