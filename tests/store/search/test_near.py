"""Jobs by color: the window on L* never gives another answer than looking at everything."""

import importlib.util
import random
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from finishlog.color.notation.space import delta_e_2000
from finishlog.errors import InputError
from finishlog.records.log import Reading
from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewLoad, NewSample, NewSite
from finishlog.store import Log

_spec = importlib.util.spec_from_file_location("readings", Path(__file__).parents[1] / "readings.py")
assert _spec is not None
assert _spec.loader is not None
readings = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(readings)
Many = tuple[Log, Any]

MAY = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Many]:
    log = readings.build(tmp_path_factory.mktemp("near") / "many.finishlog", 250, 16)
    yield log, readings.Scan(log)
    log.close()


@pytest.mark.parametrize("tries", [60, pytest.param(600, marks=pytest.mark.long)])
def test_never_a_wrong_answer(many: Many, tries: int) -> None:
    log, scan = many
    chance = random.Random(7)
    with log.reading() as reader:
        for turn in range(tries):
            if turn % 3:  # among the slabs; else anywhere, corners too
                lab = (chance.gauss(58, 10), chance.gauss(7, 4), chance.gauss(14, 6))
            else:
                lab = (chance.uniform(0, 100), chance.uniform(-100, 100), chance.uniform(-100, 100))
            limit = chance.choice([1, 1, 5, 40, None])
            within = chance.choice([None, None, 2.0, 10.0])
            true = [one for one in scan.nearest(lab) if within is None or one[0] <= within][:limit]
            found = reader.near(lab, limit=limit, within=within)
            assert [line.de00 for line in found] == pytest.approx([one[0] for one in true], abs=1e-12)
            assert {line.handle for line in found} == {one[1] for one in true}


def test_the_edges_of_lightness(many: Many) -> None:
    log, scan = many
    with log.reading() as reader:
        for lab in ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 127.0, -127.0)):
            assert reader.near(lab, limit=1)[0].de00 == pytest.approx(scan.nearest(lab)[0][0], abs=1e-12)
            assert len(reader.near(lab)) == len(scan.nearest(lab))
        assert reader.near((58, 7, 14), limit=0) == ()
        assert reader.near((0, 0, 0), within=0.5) == ()


def test_what_is_no_color_is_refused(log: Log) -> None:
    with log.reading() as reader:
        for lab in ((101, 0, 0), (-1, 0, 0), (float("nan"), 0, 0), (50, float("inf"), 0)):
            with pytest.raises(InputError, match="Not an L\\*a\\*b\\* color"):
                reader.near(lab)
        assert reader.near((50, 0, 0)) == ()


def a_job(name: str) -> NewJob:
    return NewJob(name, NewCustomer("Ines Puddlecombe"), NewSite("s"))


def read(writer: object, job: str, lab: tuple[float, float, float], **how: object) -> int:
    replaces = how.pop("replaces", None)
    entry = NewEntry("reading", MAY, reading=Reading(*lab, **how), replaces=replaces)  # type: ignore[arg-type]
    return writer.add_entry(job, entry).number  # type: ignore[attr-defined, no-any-return]


def test_which_readings_count(log: Log) -> None:
    """Dry and bare first; damp or sealed only where there is nothing better; never the release color."""
    with log.writing() as writer:
        dry, wet, other, taken, redone = (
            writer.add_job(a_job(name)).handle for name in ("dry", "wet", "other", "taken", "redone")
        )
        read(writer, dry, (60, 5, 15))
        read(writer, dry, (50, 5, 15), damp=True)
        read(writer, wet, (50, 5, 15), sealed=True)
        read(writer, other, (50, 5, 15), spot="release color")
        read(writer, taken, (50, 5, 15))
        writer.undo(taken)
        first = read(writer, redone, (50, 5, 15))
        read(writer, redone, (70, 5, 15), replaces=first)
        found = {line.handle: line.de00 for line in writer.near((50, 5, 15))}
        assert list(found) == [wet, dry, redone]
        assert found[wet] == 0
        assert found[dry] == pytest.approx(float(delta_e_2000((50, 5, 15), (60, 5, 15))))
        assert found[redone] == pytest.approx(float(delta_e_2000((50, 5, 15), (70, 5, 15))))
        writer.archive(wet)
        assert [line.handle for line in writer.near((50, 5, 15))] == [dry, redone]
        assert writer.near((50, 5, 15), archived=True)[0].state == "archived"


def test_a_test_slab_poured_apart_is_not_the_color_of_its_job(log: Log) -> None:
    """It does not find the job, nor does it keep a damp reading of the slab itself from finding it."""
    with log.writing() as writer:
        job = writer.add_job(a_job("tried")).handle
        apart = writer.add_entry(job, NewEntry("sample", MAY, sample=NewSample())).sample
        load = writer.add_entry(job, NewEntry("load", MAY, load=NewLoad()))
        poured = writer.add_entry(job, NewEntry("sample", MAY, sample=NewSample(load=load.number))).sample
        assert apart is not None
        assert poured is not None
        read(writer, job, (50, 5, 15), sample=apart.number)
        assert writer.near((50, 5, 15)) == ()
        read(writer, job, (40, 5, 15), damp=True)
        assert [line.handle for line in writer.near((40, 5, 15), within=1.0)] == [job]
        read(writer, job, (60, 5, 15), sample=poured.number)
        assert [line.handle for line in writer.near((60, 5, 15), within=1.0)] == [job]
