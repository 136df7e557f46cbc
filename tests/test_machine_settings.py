"""This machine's settings: out and back, a broken file said in one line, written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from finishlog import settings, wiring
from finishlog.errors import LogError
from finishlog.settings import Machine

FULL = Machine(
    "full-sun", True, True, "metric", {"jobs.match": "o", 'odd"\\\x7f': "f8"}, "/some/Ä “q”\n.finishlog",
    "/some/photos", serve={"proxy": "127.0.0.1", "address": "https://log.example.com"},
)  # fmt: skip


def test_no_file_means_the_usual(tmp_path: Path) -> None:
    assert settings.read(tmp_path / "none.toml") == (Machine(), "")


def test_what_is_written_comes_back(tmp_path: Path) -> None:
    where = tmp_path / "new" / "settings.toml"
    settings.write(where, FULL)
    assert settings.read(where) == (FULL, "")
    settings.write(where, Machine())
    assert settings.read(where) == (Machine(), "")
    assert os.listdir(where.parent) == ["settings.toml"]


@pytest.mark.parametrize("text", [b"theme = ", b"\xff\xfe", b"[keys", b"theme = 'shade'\ntheme = 'shade'\n"])
def test_a_broken_file_is_said_in_one_line_and_kept_beside_the_next(tmp_path: Path, text: bytes) -> None:
    where = tmp_path / "settings.toml"
    where.write_bytes(text)
    machine, said = settings.read(where)
    assert machine == Machine()
    assert said.startswith("settings.toml cannot be read: ")
    assert "\n" not in said
    settings.write(where, FULL)
    assert (tmp_path / "settings.toml.broken").read_bytes() == text
    assert settings.read(where) == (FULL, "")


def test_a_wrong_value_alone_takes_the_usual(tmp_path: Path) -> None:
    where = tmp_path / "settings.toml"
    where.write_text('theme = "mauve"\nunits = "metric"\noutdoors = 1\n[keys]\n"jobs.match" = ""\n')
    machine, said = settings.read(where)
    assert machine == Machine(units="metric")
    assert "theme, outdoors, keys cannot be used" in said


def test_a_folder_in_its_place_is_said(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").mkdir()
    machine, said = settings.read(tmp_path / "settings.toml")
    assert machine == Machine()
    assert "cannot be read" in said


def test_what_cannot_be_kept_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr("finishlog.paths.settings_file", lambda: tmp_path / "file" / "settings.toml")
    with pytest.raises(LogError, match="cannot be saved"):
        wiring.keep_settings(Machine())


def test_outdoors_is_full_sun_whatever_the_theme() -> None:
    assert Machine(outdoors=True).dress == "full-sun"
    assert Machine().dress == "shade"
