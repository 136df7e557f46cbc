"""Every bad input of the manifest through its door: the right status, one clear line, no hang, little memory."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from finishlog import settings
from tests.conftest import NOW, Ran
from tests.hostile import bad_inputs
from tests.hostile.bad_inputs import Bad
from tests.hostile.texts import raw

Run = Callable[..., Ran]
MANIFEST = bad_inputs.every()
MOST_MB, MOST_CPU_S = 300, 5
_JOB = "bo-patio"
_MADE: list[Path] = []


@pytest.fixture
def log(finishlog: Run, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with one job."""
    if not _MADE:
        made = tmp_path_factory.mktemp("bad") / "log"
        assert finishlog("new", str(made)).status == 0
        assert finishlog("--log", str(made), "job", "new", "--customer", "Bo", "--handle", _JOB).status == 0
        _MADE.append(made)
    return Path(shutil.copy(_MADE[0], tmp_path / "log"))


def argv_of(bad: Bad, folder: Path, log: Path) -> list[str]:
    """Makes the input; the command that takes it."""
    ending = next((word[2:] for word in bad.argv if word in ("{}.csv", "{}.xlsx", "{}.jpg")), "")
    path = folder / f"bad{ending}"
    bad.make(path)
    whole = {"{}": path, "{}.new": folder / "new", f"{{}}{ending}": path, "{log}": log, "{job}": _JOB}
    return [str(whole.get(word, word)) for word in bad.argv]


def owes(bad: Bad, status: int, out: str, err: str) -> None:
    assert status in bad.owed, (bad.name, status, err[-900:])
    assert not raw(out + err), (bad.name, raw(out + err)[:5])
    assert "Traceback" not in err
    assert "bug in finishlog" not in err
    if status and not bad.name.startswith(("photo", "sheet")):  # those name each line or file
        assert err.count("\n") == 1, (bad.name, err[:900])
    assert len(err) < 20_000, bad.name


def test_the_manifest_is_long_and_its_names_are_its_own() -> None:
    assert len(MANIFEST) + len(bad_inputs.SETTINGS) >= 120
    assert len({bad.name for bad in MANIFEST}) == len(MANIFEST)


@pytest.mark.parametrize("bad", MANIFEST[::6], ids=lambda bad: bad.name)
def test_a_bad_input_is_refused_or_read(finishlog: Run, log: Path, tmp_path: Path, bad: Bad) -> None:
    """Every sixth, in this process."""
    ran = finishlog(*argv_of(bad, tmp_path, log))
    owes(bad, ran.status, ran.out, ran.err)


@pytest.mark.parametrize("name", bad_inputs.SETTINGS)
def test_bad_settings_are_said_and_the_usual_hold(tmp_path: Path, name: str) -> None:
    path = tmp_path / "settings.toml"
    path.write_bytes(bad_inputs.SETTINGS[name])
    machine, said = settings.read(path)
    assert machine.place
    assert not raw(said.replace("\x1b", "")) or name == "escapes"
    assert "\n" not in said


_LIMITED = (
    "import resource, sys; resource.setrlimit(resource.RLIMIT_CPU, (20, 20)); "
    "sys.argv = ['finishlog', *sys.argv[1:]]; from finishlog.__main__ import main; s = main(sys.argv[1:]); "
    "u = resource.getrusage(resource.RUSAGE_SELF); sys.stdout.flush(); "
    "open(%r, 'w').write(f'{u.ru_maxrss / 1024} {u.ru_utime + u.ru_stime}'); raise SystemExit(s)"
)


@pytest.mark.long
@pytest.mark.parametrize("bad", MANIFEST, ids=lambda bad: bad.name)
def test_a_bad_input_takes_little_memory_and_time(log: Path, tmp_path: Path, bad: Bad) -> None:
    """Each in a process of its own, under limits."""
    used = tmp_path / "used"
    command = [sys.executable, "-c", _LIMITED % str(used), *argv_of(bad, tmp_path, log)]
    env = {**os.environ, "FINISHLOG_NOW": NOW}
    done = subprocess.run(
        command, capture_output=True, text=True, errors="replace", timeout=120, check=False, env=env
    )
    owes(bad, done.returncode, done.stdout, done.stderr)
    megabytes, cpu = map(float, used.read_text().split())
    print(f"{bad.name}: {megabytes:.0f} MB, {cpu:.1f} s")
    assert megabytes < MOST_MB, (bad.name, megabytes)
    assert cpu < MOST_CPU_S, (bad.name, cpu)
