"""What past pours teach about ordering: only what was placed, and only where it is known."""

from datetime import UTC, date, datetime, timedelta

from finishlog.records.answers import PastSlab
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewLoad, NewSite
from finishlog.store import Log, Writer

DAY = datetime(2025, 5, 14, 15, tzinfo=UTC)
FIELD = NewArea("field", area_ft2=300.0, depth_in=4.0, edge_yd3=0.5)
BORDER = NewArea("border", "border", area_ft2=100.0, depth_in=6.0)


def poured(
    writer: Writer, *loads: tuple[datetime, NewLoad], areas: tuple[NewArea, ...] = (FIELD, BORDER)
) -> str:
    job = NewJob("patio", NewCustomer("Bo"), NewSite("s", zone="America/Chicago"), areas=areas)
    handle = writer.add_job(job).handle
    for happened, load in loads:
        writer.add_entry(handle, NewEntry("load", happened, load=load))
    return handle


def test_one_day_takes_all_areas_and_sums_its_loads(log: Log) -> None:
    with log.writing() as writer:
        handle = poured(writer, (DAY, NewLoad(4.0, 0.25, 0.0)), (DAY, NewLoad(2.0, 0.5, 0.25)))
        assert writer.past_slabs() == (PastSlab(handle, date(2025, 5, 14), 400.0, 4.5, 0.5, 5.0),)


def test_a_leftover_nobody_wrote_down_teaches_nothing(log: Log) -> None:
    with log.writing() as writer:
        for one in (NewLoad(2.0), NewLoad(2.0, 0.5), NewLoad(None, 0.0, 0.0)):
            poured(writer, (DAY, NewLoad(4.0, 0.25, 0.0)), (DAY, one))
        assert [slab.placed_yd3 for slab in writer.past_slabs()] == [None, None, None]


def test_two_days_with_their_areas_named_are_two_slabs(log: Log) -> None:
    later = DAY + timedelta(days=2)
    with log.writing() as writer:
        handle = poured(
            writer,
            (later, NewLoad(2.0, 0.0, 0.0, areas=(("border", None),))),
            (DAY, NewLoad(4.0, 0.0, 0.0, areas=(("field", 4.0),))),
        )
        assert writer.past_slabs() == (
            PastSlab(handle, date(2025, 5, 14), 300.0, 4.0, 0.5, 4.0),
            PastSlab(handle, date(2025, 5, 16), 100.0, 6.0, 0.0, 2.0),
        )


def test_two_days_on_one_area_or_unnamed_areas_are_not_measured(log: Log) -> None:
    later = DAY + timedelta(days=2)
    field = (("field", None),)
    with log.writing() as writer:
        poured(
            writer, (DAY, NewLoad(2.0, 0.0, 0.0, areas=field)), (later, NewLoad(2.0, 0.0, 0.0, areas=field))
        )
        poured(writer, (DAY, NewLoad(2.0, 0.0, 0.0)), (later, NewLoad(2.0, 0.0, 0.0)))
        assert [(slab.area_ft2, slab.depth_in, slab.placed_yd3) for slab in writer.past_slabs()] == [
            (None, None, 2.0)
        ] * 4


def test_an_area_of_unknown_size_is_not_measured(log: Log) -> None:
    with log.writing() as writer:
        poured(writer, (DAY, NewLoad(4.0, 0.0, 0.0)), areas=(FIELD, NewArea("border")))
        poured(writer, (DAY, NewLoad(4.0, 0.0, 0.0)), areas=())
        assert [slab.area_ft2 for slab in writer.past_slabs()] == [None, None]


def test_an_overlay_takes_no_load(log: Log) -> None:
    with log.writing() as writer:
        poured(writer, (DAY, NewLoad(4.0, 0.0, 0.0)), areas=(FIELD, NewArea("top", "overlay")))
        assert [slab.area_ft2 for slab in writer.past_slabs()] == [300.0]


def test_replaced_and_withdrawn_loads_do_not_count(log: Log) -> None:
    with log.writing() as writer:
        handle = poured(writer, (DAY, NewLoad(4.0, 0.0, 0.0)), (DAY, NewLoad(9.0, 0.0, 0.0)))
        writer.undo(handle, 2)
        writer.add_entry(handle, NewEntry("load", DAY, load=NewLoad(5.0, 0.5, 0.0), replaces=1))
        assert [slab.placed_yd3 for slab in writer.past_slabs()] == [4.5]
        writer.undo(handle)
        assert writer.past_slabs() == ()


def test_the_day_is_the_site_s(log: Log) -> None:
    with log.writing() as writer:
        poured(writer, (datetime(2025, 5, 15, 3, tzinfo=UTC), NewLoad(4.0, 0.0, 0.0)))
        assert [slab.poured_on for slab in writer.past_slabs()] == [date(2025, 5, 14)]
