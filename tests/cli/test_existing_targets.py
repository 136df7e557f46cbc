"""What is there already is left as it is: status 3 where a log would be made, 2 for any other file or folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Ran

Run = Callable[..., Ran]
JOB = "fizzlewick-side-walk"


@pytest.mark.parametrize(
    ("argv", "status"),
    [
        (("new", "{there}"), 3),
        (("demo", "--into", "{there}"), 3),
        (("--log", "{demo}", "backup", "{there}"), 3),
        (("--log", "{there}", "import", "{sheet}", "--new"), 3),
        (("import", "--template", "{there}"), 2),
        (("import", "--template", "--entries", "{there}"), 2),
        (("--log", "{demo}", "export", "{folder}"), 2),
        (("--log", "{demo}", "sheet", JOB, "history", "--pdf", "{there}"), 2),
        (("--log", "{demo}", "match", JOB, "--rect", "10x10", "--pdf", "{there}"), 2),
    ],
)
def test_a_target_that_is_there(
    finishlog: Run, demo: str, tmp_path: Path, argv: tuple[str, ...], status: int
) -> None:
    there, folder, sheet = tmp_path / "there", tmp_path / "folder", tmp_path / "sheet.csv"
    there.write_text("mine", encoding="utf-8")
    sheet.write_text("customer,poured_on\nAda Quagmire,2026-04-02\n", encoding="utf-8")
    folder.mkdir()
    (folder / "mine").touch()
    names = {"there": there, "demo": demo, "folder": folder, "sheet": sheet}
    ran = finishlog(*(word.format(**names) for word in argv))
    assert (ran.status, ran.out) == (status, "")
    assert ran.err.startswith("finishlog: ")
    assert len(ran.err.splitlines()) == 1
    assert there.read_text(encoding="utf-8") == "mine"
    assert [each.name for each in folder.iterdir()] == ["mine"]
