"""Every write of the desks is done anew by itself after a failure that left nothing written, and never twice."""

from __future__ import annotations

import ast
import time
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from threading import Thread

import psycopg
import pytest

from finishlog import desk, wiring
from finishlog.desk.exchange import exchange
from finishlog.desk.jobs import edit
from finishlog.desk.photo import photos
from finishlog.desk.photo.photos import PhotoFacts
from finishlog.desk.record import record as recording
from finishlog.desk.services import Services
from finishlog.errors import Collided, ServerAway
from finishlog.records.writing import NewCustomer, NewJob, NewSite
from finishlog.retrying import PAUSES_S, anew
from tests import line
from tests.desk import photo_making
from tests.line import Line

NOT_ANEW = {
    "demo.demo.make": "a log that is being made, which nobody else has",
    "exchange.entries.bring_in": "a log that is being made, or a trial; the log there is has `_write`",
    "exchange.entries.fill": "of bring_in",
    "exchange.exchange._into_new": "a log that is being made",
    "exchange.exchange.fill": "of _into_new",
}


@cache
def _functions() -> list[tuple[str, ast.FunctionDef]]:
    root = Path(desk.__file__).parent
    found = []
    for path in sorted(root.rglob("*.py")):
        text = path.read_text("utf-8")
        if ".writing()" in text or "@anew" in text:
            module = ".".join(path.relative_to(root).with_suffix("").parts)
            nodes = (node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.FunctionDef))
            found += [(f"{module}.{node.name}", node) for node in nodes]
    return found


def _calls(function: ast.FunctionDef, name: str) -> int:
    return sum(
        isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == name
        for node in ast.walk(function)
    )


def _is_anew(function: ast.FunctionDef) -> bool:
    return any(isinstance(one, ast.Name) and one.id == "anew" for one in function.decorator_list)


def test_every_desk_that_writes_does_it_anew_or_says_why_not() -> None:
    writes = {name for name, node in _functions() if _calls(node, "writing")}
    marked = {name for name, node in _functions() if _is_anew(node)}
    assert len(marked) >= 30
    assert writes - marked == set(NOT_ANEW)
    assert marked <= writes


def test_what_is_done_anew_writes_in_one_unit_of_work_not_in_a_loop() -> None:
    for name, node in _functions():
        if _is_anew(node):
            assert _calls(node, "writing") == 1, name
            loops = [each for each in ast.walk(node) if isinstance(each, ast.For | ast.While)]
            assert not any(_calls(each, "writing") for each in loops), name  # type: ignore[arg-type]


# on a server


@pytest.fixture
def wire(address: str, clock: str) -> Iterator[Line]:
    with line.to(address) as made:
        yield made


@pytest.fixture
def services(wire: Line) -> Iterator[Services]:
    made = wiring.build(wire.address)
    with made.log().writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo Vantongeren"), NewSite("1 Ash Way"), handle="patio"))
    yield made
    made.close()


def notes(services: Services) -> list[str | None]:
    with services.log().reading() as log:
        return [entry.note for entry in log.job("patio").entries]


def note(services: Services) -> None:
    recording.record(services, "patio", "note", {"note": "Swept."})


@pytest.mark.parametrize("word", [b"write_token", b"INSERT INTO"], ids=["at its end", "in the middle"])
def test_a_line_that_is_cut_before_the_commit_is_not_noticed(
    services: Services, wire: Line, word: bytes
) -> None:
    wire.cut_at(word, after=False, comes_back=True)
    note(services)
    assert notes(services) == ["Swept."]


def test_a_commit_that_never_arrived_is_done_anew(services: Services, wire: Line) -> None:
    wire.cut_at(b"COMMIT", after=False, comes_back=True)
    note(services)
    assert notes(services) == ["Swept."]


POURS = "customer,job,street,poured_on,yards\nAda Quagmire,walk,2 Ash Way,2026-06-01,4\n"
ENTRIES = "job,kind,at,note\npatio,note,2026-06-15 10a,Swept.\n"


@pytest.mark.parametrize("what", ["photo", "pours", "entries"])
def test_photos_and_sheets_are_kept_once_where_the_line_was_cut(
    services: Services, wire: Line, tmp_path: Path, what: str
) -> None:
    """What each try noted of them is not told twice either."""
    path = tmp_path / f"{what}.csv"
    path.write_bytes(
        photo_making.jpeg() if what == "photo" else {"pours": POURS, "entries": ENTRIES}[what].encode()
    )
    wire.cut_at(b"COMMIT", after=False, comes_back=True)
    if what == "photo":
        added = photos.add(services, "patio", [path], PhotoFacts(), because="as it was")
        assert (len(added.kept), added.doubles, added.asked) == (1, (), ())
    else:
        report = exchange.bring_in(services, path)
        assert (report.written, report.rows, report.bad) == (True, 1, ()), report
    assert wire.was_cut
    with services.log().reading() as log:
        kinds = [entry.kind for entry in log.job("patio").entries]
        jobs = log.count()
    assert (kinds, jobs) == {"photo": (["photo"], 1), "pours": ([], 2), "entries": (["note"], 1)}[what]


def test_a_commit_whose_answer_was_lost_is_told_and_not_done_anew(services: Services, wire: Line) -> None:
    wire.cut_at(b"COMMIT", after=True, comes_back=True)
    with pytest.raises(ServerAway, match="cannot be reached") as lost:
        note(services)
    assert (lost.value.written, lost.value.unsure) == (True, False)
    assert "It was written" in lost.value.line()
    assert notes(services) == ["Swept."]


def test_an_unsure_write_stays_unsure_while_the_server_is_away(services: Services, wire: Line) -> None:
    wire.cut_at(b"COMMIT", after=True)
    with pytest.raises(ServerAway) as lost:
        note(services)
    assert lost.value.unsure
    wire.mend()
    assert services.log().was_written(lost.value) is True
    assert notes(services) == ["Swept."]


def test_a_write_that_the_server_refuses_for_another_is_done_anew(services: Services, address: str) -> None:
    """Somebody who writes past the program, in no turn: the server says that the two cannot be put in order."""
    with psycopg.connect(address) as other:
        other.execute("SET search_path = finishlog")
        other.execute("UPDATE job SET version = version + 1, note = 'theirs'")
        writing = Thread(target=edit.set_note, args=(services, "patio", "ours"))
        writing.start()
        waits = (
            "SELECT FROM pg_stat_activity WHERE wait_event = 'transactionid' AND datname = current_database()"
        )
        _until(lambda: other.execute(waits).fetchone() is not None)
        other.commit()
        writing.join(20)
    with services.log().reading() as log:
        assert (log.job("patio").note, log.job("patio").version) == ("ours", 3)


def _until(is_so: Callable[[], bool]) -> None:
    end = time.monotonic() + 10
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_one_that_never_comes_through_is_told_in_the_end() -> None:
    tried = []

    @anew
    def write(services: Services) -> None:
        tried.append(services)
        raise Collided("Somebody wrote at the same moment.")

    with pytest.raises(Collided):
        write(None)  # type: ignore[arg-type]
    assert len(tried) == len(PAUSES_S) + 1
