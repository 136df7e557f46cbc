"""A new kind of stage is its file and its line in `KINDS`: plan, day card, today and its caution follow.

The kinds are read once, at import, so it is tried in an interpreter of its own.
"""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.due import today
from finishlog.desk.forms import daycard, offers
from finishlog.desk.jobs import edit
from finishlog.desk.match import plan
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.inputs.entry import entries
from finishlog.records.log import Shape
from finishlog.records.plan import PlanRequest
from finishlog.store import Log

WITH_GRIND = """
from finishlog.trade import stages
from tests.trade.stages.grind import KIND
at = [kind.key for kind in stages.KINDS].index("stain")
stages.KINDS = (*stages.KINDS[:at], KIND, *stages.KINDS[at:])
"""
TRY = """
import json, sys
from pathlib import Path
from tests.desk.test_new_kind import tried
print(json.dumps(tried(Path(sys.argv[1]))))
"""
NOW = datetime(2026, 8, 30, 18, tzinfo=UTC)
JOB = "ottoline-quillfeather-back-patio"


def tried(folder: Path) -> dict[str, object]:
    """What the house makes of a job that was poured ten days ago and is to be ground."""
    uids = count(1)
    log = Log.create(folder / "l.finishlog", clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    services = Services(
        open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: NOW,
        find_zone=lambda: ZoneInfo("America/Chicago"),
    )  # fmt: skip
    edit.new_job(
        services, {"customer": "Ottoline Quillfeather", "job": "back patio", "areas": "field 24x18 4in"}
    )
    planned = {
        "integral_color.product": "Marsh",
        "grind.grit": "80",
        "grind.passes": "2",
        "grind.removed_in": "0.1",
    }
    edit.change_order(services, JOB, None, planned, reason="as agreed")
    record.record(services, JOB, "load", {"at": "2026-08-20 9a", "yards": "6"}, because="so it was")
    record.record(services, JOB, "pour", {"at": "2026-08-20 11a"}, because="so it was")
    lines = [line for line in today.today(services).lines if line.what == "grind"]
    card = next((s for s in daycard.day_card(services, JOB).sections if s.key == "grind"), None)
    form = offers.offer(services, JOB, "grind")
    early = _asked(services, {"at": "2026-08-19 9a"})
    done = record.record(services, JOB, "grind", {"at": "2026-08-29 9a", "grit": "120", "burned": "yes"})
    made = plan.make(services, PlanRequest(JOB, (Shape(1, "rect", "12x10"),), "4 in"))
    return {
        "kinds": [kind.key for kind in entries.kinds()],
        "lines": [[line.title, line.state, *line.cautions] for line in lines],
        "slipped": [line.what for line in today.today(services).lines if line.what == "grind"],
        "card": card and [field.key for field in card.fields],
        "form": [form.values.get("grit"), form.planned["removed_in"].said, *form.cautions],
        "early": early,
        "warned": done.warnings,
        "plan": [stage.facts for stage in made.stages if stage.kind == "grind"],
        "cautions": [each.text for each in made.cautions if each.stage == "Grind"],
        "then": [line.text for line in made.then if line.key == "then_grind"],
    }


def _asked(services: Services, texts: dict[str, str]) -> str:
    with pytest.raises(record.Doubt) as caught:
        record.record(services, JOB, "grind", texts)
    return caught.value.title


def test_a_new_kind_is_one_file_and_one_line(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", WITH_GRIND + TRY, str(tmp_path)], capture_output=True, text=True, check=False,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    dust = "Silica dust: wet or shrouded with a vacuum (29 CFR 1926.1153)."
    lungs = "Respirator by the product's sheet and local rules."
    assert (
        found["kinds"].index("antiquing_wash") < found["kinds"].index("grind") < found["kinds"].index("stain")
    )
    assert found["lines"] == [["Grind", "open", dust, lungs]]
    assert found["slipped"] == []
    assert found["card"] == ["at", "grit", "passes"]
    assert found["form"][:4] == ["80", "0.1 in", dust, lungs]
    assert "before the pour" in found["early"]
    assert found["plan"] == [["Grit: 120", "Passes: 2", "Taken off: 0.1 in", "Swirls left: yes"]]
    assert found["cautions"] == [f"{dust} {lungs}"]
    assert found["then"] == ["swirls left: yes"]
