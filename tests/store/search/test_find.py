"""One box finds a job from any scrap; nothing typed into it can break it."""

import itertools
import shutil
from collections.abc import Iterator
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finishlog.records.log import Coat, Reading
from finishlog.records.writing import (
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSite,
    NewStage,
    NewStageMaterial,
)
from finishlog.store import Log, Writer
from finishlog.store.search.question import Question, Term, parse
from finishlog.store.search.spelling import Spelling
from tests import pg
from tests.store.conftest import Ticking

MAKER = "Moonhill Colors"


def pour(
    writer: Writer, who: str, piece: str, street: str, day: str, base: str, release: str, **more: str
) -> str:
    pattern = more.get("pattern", "ashlar slate")
    recipe = NewRecipe(
        f"{base} recipe",
        (
            NewStage("integral_color", {}, (NewStageMaterial(NewProduct(base, "pigment", MAKER)),)),
            NewStage("stamp", {"pattern": pattern}),
        ),
    )
    area = NewArea("field", area_ft2=300.0, depth_in=4.0, recipe=recipe)
    site = NewSite(street, more.get("town", "Nowhere Falls"), "America/Chicago")
    handle = writer.add_job(NewJob(piece, NewCustomer(who), site, areas=(area,))).handle
    happened = datetime.fromisoformat(f"{day}T15:00+00:00")
    pigment = NewMaterialUse(NewProduct(base, "pigment", MAKER), 90.0, lot=more.get("lot"))
    load = NewLoad(4.0, 0.0, 0.0, more.get("ticket"), NewMix(more.get("plant", "Stoneport")))
    writer.add_entry(handle, NewEntry("load", happened, person="Ada", materials=(pigment,), load=load))
    powder = NewMaterialUse(NewProduct(release, "powder release", MAKER), 10.0)
    writer.add_entry(handle, NewEntry("powder_release", happened, materials=(powder,), note=more.get("note")))
    return handle


def fill(log: Log) -> None:
    """Four invented jobs."""
    with log.writing() as writer:
        pour(writer, "Ines Puddlecombe", "back patio", "12 Teakettle Lane", "2025-05-14", "Wet Biscuit",
             "Otter Back", ticket="T-1029", lot="B7/a", note="edge burnished by the gate")  # fmt: skip
        pour(writer, "Zoë Gravelpit", "pool deck", "1240 Owl Hollow", "2024-10-02", "Dusty Drum", "Soot Cat",
             pattern="random stone", plant="Ridgeline", town="Elsewhere")  # fmt: skip
        pour(writer, "Bo Spring", "front walk", "7 Spring Street", "2025-08-20", "Wet Biscuit", "Soot Cat",
             pattern="herringbone brick", ticket="T-2210")  # fmt: skip
        handle = pour(
            writer, "Cy O'Larch", "driveway", "12 Quarry Street", "2024-12-30", "Rust Pot", "Walnut Husk"
        )
        clear = NewMaterialUse(NewProduct("Clear Pond", "sealer"), 3.0, "gal")
        when = datetime(2025, 5, 2, 15, tzinfo=UTC)
        writer.add_entry(handle, NewEntry("seal", when, materials=(clear,), coat=Coat(1)))
        writer.add_entry(handle, NewEntry("reading", when, reading=Reading(62, 5, 15)))


@cache
def _four_on_server() -> str:
    """A closed log of the four jobs on the server, to be copied."""
    address = pg.database()
    _filled(address)
    return address


def _filled(where: Path | str) -> None:
    uids = (f"uid-{number}" for number in itertools.count())
    log = Log.open(where, clock=lambda: datetime(2026, 6, 16, tzinfo=UTC), new_uid=lambda: next(uids))
    fill(log)
    log.close()


@pytest.fixture(scope="module")
def four_jobs(empty_log: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed log of the four jobs."""
    path = tmp_path_factory.mktemp("four") / "four.finishlog"
    shutil.copy(empty_log, path)
    _filled(path)
    return path


@pytest.fixture
def four(four_jobs: Path, engine_name: str, ticking: Ticking, tmp_path: Path) -> Iterator[Log]:
    """The four jobs in a log of their own."""
    if engine_name == "postgres":
        address = pg.copied(_four_on_server())
        yield ticking.open(address)
        pg.drop(address)
        return
    path = tmp_path / "four.finishlog"
    shutil.copy(four_jobs, path)
    yield ticking.open(path)


@cache
def _read_on_server() -> Log:
    """A copy that stays open for all tests which only read: each new database takes a third of a second."""
    return Ticking().open(pg.copied(_four_on_server()))


@pytest.fixture
def seen(engine_name: str, request: pytest.FixtureRequest) -> Log:
    """The four jobs, not to be written."""
    if engine_name == "postgres":
        return _read_on_server()
    log: Log = request.getfixturevalue("four")
    return log


def customers(log: Log, words: str, **more: object) -> list[str]:
    with log.reading() as reader:
        lines = reader.lines(words=words, **more)  # type: ignore[arg-type]
        assert reader.count(words=words, **more) == len(lines)  # type: ignore[arg-type]
    return [line.customer.split()[-1] for line in lines]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("puddlecombe", ["Puddlecombe"]),
        ("PUDDLE", ["Puddlecombe"]),  # a beginning is enough
        ("teakettle", ["Puddlecombe"]),
        ("elsewhere", ["Gravelpit"]),  # town
        ("pool deck", ["Gravelpit"]),  # job
        ("ines-puddlecombe-back-patio", ["Puddlecombe"]),  # handle
        ("herringbone", ["Spring"]),  # pattern
        ("walnut husk", ["O'Larch"]),  # shade
        ("moonhill rust", ["O'Larch"]),  # maker
        ("b7/a", ["Puddlecombe"]),  # lot
        ("burnished gate", ["Puddlecombe"]),  # note
        ("t-2210", ["Spring"]),  # ticket
        ("ridgeline", ["Gravelpit"]),  # plant
        ("clear pond", ["O'Larch"]),  # sealer
        ("grayish yellowish brown", ["O'Larch"]),  # the name of the color as read
        ("2024-10-02", ["Gravelpit"]),
        ("october 2", ["Gravelpit"]),
        ("spring 2025", ["Puddlecombe"]),  # the season, not the street of that name
        ("2025 spring", ["Puddlecombe"]),
        ("summer 2025", ["Spring"]),
        ("fall 2024", ["Gravelpit"]),
        ("autumn 2024", ["Gravelpit"]),
        ("winter 2024", ["O'Larch"]),  # one winter, two years
        ("winter 2025", ["O'Larch"]),
        ("may 2025", ["Puddlecombe"]),
        ("aug 2025", ["Spring"]),
        ("wet biscuit spring 2025", ["Puddlecombe"]),
        ("zoe", ["Gravelpit"]),  # accents
        ("ZOË", ["Gravelpit"]),
        ("zoe\u0308", ["Gravelpit"]),  # decomposed: NFC is made first
        ("o'larch", ["O'Larch"]),
        ("12 quarry", ["O'Larch"]),
        ("puddlecomb biscit", ["Puddlecombe"]),  # typos
        ("gravlepit", ["Gravelpit"]),
        ("tekettle lane", ["Puddlecombe"]),
        ("herringbne", ["Spring"]),
        ("base:drum", ["Gravelpit"]),
        ('base:"rust pot"', ["O'Larch"]),
        ("release:husk", ["O'Larch"]),
        ("pattern:brick", ["Spring"]),
        ("sealer:pond", ["O'Larch"]),
        ("plant:ridge", ["Gravelpit"]),
        ("plant:ridgelin", ["Gravelpit"]),
        ("BASE:drumm", ["Gravelpit"]),  # a typo in a facet
        ("biscuit year:2025 pattern:ashlar", ["Puddlecombe"]),
        ("year:1999", []),
        ("xylophone", []),
    ],
)
def test_any_scrap_finds_it(seen: Log, words: str, found: list[str]) -> None:
    assert customers(seen, words) == found


def test_a_house_number_is_meant_whole(seen: Log) -> None:
    assert set(customers(seen, "12")) == {"Puddlecombe", "O'Larch"}
    assert customers(seen, "1240") == ["Gravelpit"]


def test_all_words_first_then_any(seen: Log) -> None:
    assert customers(seen, "biscuit otter") == ["Puddlecombe"]
    assert set(customers(seen, "ridgeline herringbone")) == {"Gravelpit", "Spring"}
    assert customers(seen, "puddlecombe xylophone") == ["Puddlecombe"]


def test_a_hit_in_the_name_stands_before_one_in_a_note(four: Log) -> None:
    with four.writing() as writer:
        pour(
            writer,
            "Dot Wren",
            "porch",
            "3 Owl Hollow",
            "2023-06-01",
            "Rust Pot",
            "Soot Cat",
            note="asked by Gravelpit",
        )
    with four.reading() as reader:
        lines = reader.lines(words="gravelpit")
    assert [line.customer for line in lines] == ["Zoë Gravelpit", "Dot Wren"]
    assert lines[0].score > lines[1].score > 0


def test_without_words_all_newest_first(seen: Log) -> None:
    assert customers(seen, "") == ["Spring", "Puddlecombe", "O'Larch", "Gravelpit"]
    assert customers(seen, "  ") == ["Spring", "Puddlecombe", "O'Larch", "Gravelpit"]
    with seen.reading() as reader:
        pages = [reader.lines(limit=2, offset=offset) for offset in (0, 2, 4)]
        assert [len(page) for page in pages] == [2, 2, 0]
        assert (*pages[0], *pages[1]) == reader.lines()


def test_filters_beside_the_box(seen: Log) -> None:
    assert customers(seen, "", base="biscuit") == ["Spring", "Puddlecombe"]
    assert customers(seen, "soot", base="biscuit") == ["Spring"]
    assert customers(seen, "", release="SOOT CAT", pattern="stone") == ["Gravelpit"]
    assert customers(seen, "", since=date(2025, 5, 14)) == ["Spring", "Puddlecombe"]
    assert customers(seen, "", until=date(2024, 10, 2)) == ["Gravelpit"]
    assert customers(seen, "biscuit", since=date(2025, 6, 1), until=date(2025, 12, 31)) == ["Spring"]


def test_a_planned_job_is_found_by_its_day(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(
            NewJob("patio", NewCustomer("Bo"), NewSite("s"), state="planned", planned_on=date(2027, 4, 12))
        )
        (line,) = writer.lines(words="april 2027")
    assert (line.poured_on, line.planned_on, line.state) == (None, date(2027, 4, 12), "planned")


def test_what_was_corrected_is_found_no_more(four: Log) -> None:
    with four.writing() as writer:
        handle = writer.resolve("ines")
        old = writer.job(handle).of_kind("powder_release")[0]
        moss = NewMaterialUse(NewProduct("Moss Log", "powder release", MAKER), 10.0)
        writer.add_entry(
            handle, NewEntry("powder_release", old.happened, materials=(moss,), replaces=old.number)
        )
        assert writer.line(handle).release == "Moss Log"  # seen before the commit
        assert writer.lines(words="otter") == ()
    assert customers(four, "moss log") == ["Puddlecombe"]


def test_a_customer_of_pictures_is_found(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("🐌 garden"), NewSite("雪の道 5")))
    assert customers(log, "🐌") == ["garden"]
    assert customers(log, "雪の道") == ["garden"]
    assert customers(log, "🦔") == []


HOSTILE = [
    "'",
    '"',
    '""',
    '"unclosed',
    "#",
    "*",
    "^",
    "a*",
    "(",
    ")",
    "NEAR(a, b)",
    "a AND",
    "NOT",
    "OR OR",
    "who:ines",
    "{who place}: ines",
    "-ines",
    "+",
    "ines\0puddlecombe",
    "\0",
    "\ud800",
    "%",
    "_",
    "\\",
    "; DROP TABLE job;",
    "base:",
    'base:"',
    "year:abc",
    "base:base:base:",
    "😀",
    "\u202e",
    "x" * 100_000,
    "word " * 20_000,
    '"' * 100_000,
]


@pytest.mark.parametrize("words", HOSTILE, ids=range(len(HOSTILE)))
def test_nothing_typed_breaks_it(seen: Log, words: str) -> None:
    with seen.reading() as reader:
        assert reader.count(words=words) == len(reader.lines(words=words))
        assert reader.count(words=words, base=words, release=words, pattern=words) >= 0
        assert len(reader.nearest(words)) <= 3


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(words=st.text(max_size=40) | st.text(alphabet='abe:"*()^-+ 0123ORNEARpuddlecombe', max_size=40))
def test_any_text_can_be_searched_for(seen: Log, words: str) -> None:
    with seen.reading() as reader:
        lines = reader.lines(words=words)
        assert reader.count(words=words) == len(lines)
    scores = [line.score for line in lines]
    assert scores == sorted(scores, reverse=True)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("thistlewcik", "thistlewick"), ("htistlewick", "thistlewick"), ("histlewick", "thistlewick"),
     ("xthistlewick", "thistlewick"), ("bhistlewick", "thistlewick"), ("thisltewikc", "thistlewick"),
     ("thislte", "thistlewick"), ("thiztlewikc", "thistlewick"), ("qqqqqqqq", None)],
)  # fmt: skip
def test_a_slip_anywhere_in_a_word_is_forgiven(four: Log, typed: str, meant: str | None) -> None:
    """Words that begin alike are looked at first, the rest of the vocabulary where none of them is near."""
    with four.writing() as writer:
        pour(writer, "Thistlewick", "steps", "2 Otter Lane", "2025-05-02", "Kelp", "Ash")
    with four.reading() as log:
        assert (Spelling(log._connection).alike(typed) or [None])[0] == meant


def test_a_word_two_slips_away_that_begins_alike_hides_no_nearer_one(four: Log) -> None:
    with four.writing() as writer:
        pour(writer, "Marlowby", "steps", "2 Otter Lane", "2025-05-02", "Kelp", "Ash", town="Barlobx")
    with four.reading() as log:
        assert Spelling(log._connection).alike("barlowby") == ["marlowby", "barlobx"]


def test_a_word_with_another_first_letter_is_found_where_one_that_begins_alike_leads_nowhere(
    four: Log,
) -> None:
    with four.writing() as writer:
        meant = pour(writer, "Marlowby", "steps", "2 Otter Lane", "2025-05-02", "Kelp", "Ash")
        pour(writer, "Barlowbe", "walk", "9 Plover Lane", "2019-05-02", "Kelp", "Ash")
    with four.reading() as log:
        assert [line.handle for line in log.lines(words="barlowby otter steps")] == [meant]
        assert log.count(words="barlowby", since=date(2025, 1, 1)) == 1
        assert [line.handle for line in log.lines(words="barlowbe otter steps")] == [meant]


def test_some_jobs_and_their_number_are_told_at_once(seen: Log) -> None:
    with seen.reading() as log:
        for words in ("", "slate", "spring 2025", "otetr", "nothing of the kind"):
            for limit, offset in ((None, 0), (1, 0), (2, 1), (5, 99)):
                lines, total = log.part(words=words, limit=limit, offset=offset)
                assert lines == log.lines(words=words, limit=limit, offset=offset)
                assert total == log.count(words=words)


def test_nearest_names_what_was_meant(seen: Log) -> None:
    with seen.reading() as reader:
        assert reader.nearest("pudelcome")[0] == "Ines Puddlecombe"
        assert reader.nearest("\0\0\0") == ()


def test_a_question_is_taken_apart() -> None:
    terms, facets = parse(
        Question('spring 2025 "wet bis" T-1029 12 ash base:"Wet Biscuit" YEAR:2024', base="drum")
    )
    assert terms == [
        Term(("spring2025",), whole=True),
        Term(("wet", "bis"), whole=True),
        Term(("t", "1029")),
        Term(("12",), whole=True),
        Term(("ash",)),
    ]
    assert facets == [("base", "Wet Biscuit"), ("year", "2024"), ("base", "drum")]
    assert parse(Question("  ")) == (None, [])
    assert parse(Question("base:drum")) == (None, [("base", "drum")])
    assert parse(Question("#")) == ([], [])


def test_buried_things_and_people_are_found(four: Log) -> None:
    with four.writing() as writer:
        writer.add_buried(writer.resolve("zoe"), NewBuried("heating loop", "under the steps"))
    assert customers(four, "heating loop") == ["Gravelpit"]
    assert len(customers(four, "ada")) == 4


@pytest.fixture
def double(four: Log) -> Log:
    with four.writing() as writer:
        for at, (who, lot) in enumerate((("Hensley-Orcutt", "K-131"), ("Larkspur-Mudge", "K131"))):
            day = f"{2025 + at}-04-2{at}"
            pour(writer, who, "stoop", f"{at + 30} Fern Row", day, "Wet Biscuit", "Soot Cat", lot=lot)
    return four


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("Lakspur-Mudge", ["Larkspur-Mudge"]),
        ("hensly-orcut", ["Hensley-Orcutt"]),
        ("mudge larkspur", ["Larkspur-Mudge"]),
        ("mudge-larkspur", ["Larkspur-Mudge"]),
        ("orcut hensly", ["Hensley-Orcutt"]),
        ("stoop mugde-larkspur", ["Larkspur-Mudge"]),
        ("K-131", ["Larkspur-Mudge", "Hensley-Orcutt"]),
        ("k131", ["Larkspur-Mudge", "Hensley-Orcutt"]),
        ("spring 2026", ["Larkspur-Mudge"]),
    ],
)
def test_double_names_and_lots_are_found_however_they_are_written(
    double: Log, words: str, found: list[str]
) -> None:
    assert sorted(customers(double, words)) == sorted(found)


@pytest.mark.parametrize("words", ["april", "spring", "spring 2025", "2025"])
def test_of_a_season_the_newest_comes_first(double: Log, words: str) -> None:
    with double.reading() as reader:
        days = [line.poured_on for line in reader.lines(words=words)]
    assert len(days) > 1
    assert days == sorted(days, key=lambda day: day or date.min, reverse=True)
