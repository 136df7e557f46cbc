"""Which column of a foreign sheet is which of ours."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.inputs import fields
from finishlog.inputs.paper_log import mapping, sheet
from finishlog.inputs.paper_log.mapping import ColumnMap, read_mapping
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.inputs.paper_log.sheet import BadLine, Row

COLUMNS = fields.columns(PourRow)


def told(*maps: str, units: tuple[str, ...] = (), ignored: tuple[str, ...] = ()) -> ColumnMap:
    return read_mapping(maps, units, ignored, PourRow, COLUMNS)


def refused(*maps: str, units: tuple[str, ...] = ()) -> str:
    with pytest.raises(InputError) as failure:
        told(*maps, units=units)
    assert failure.value.where in ("--map", "--unit")
    assert failure.value.example
    return failure.value.line()


def cells(text: str, names: ColumnMap) -> list[dict[str, str] | str]:
    rows = sheet.read_rows(text, COLUMNS, ("poured_on",), names)
    return [row.cells if isinstance(row, Row) else row.what for row in rows]


# what is told


def test_a_column_of_ours_is_one_of_theirs() -> None:
    names = told("yards=Cu Yds", "Poured on=Date = day", units=("dose=lb/yd3",), ignored=("Office use",))
    assert names.headers == {"yards": "Cu Yds", "poured_on": "Date = day"}
    assert names.units == {"dose": "lb/yd3"}
    assert names.key_of(" cu-yds") == "yards"
    assert names.key_of("Yds") is None
    assert names.leaves_out("OFFICE_USE")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("yards", "is not OURS=YOURS"),
        ("=x", "is not OURS=YOURS"),
        ("yards=", "is not OURS=YOURS"),
        ("yrads=Cu Yds", "Did you mean yards?"),
        ("zzzzz=x", "--template"),
        ("\x1b[31m=x", "\\u001b"),
    ],
)
def test_what_is_no_mapping_is_said(text: str, said: str) -> None:
    line = refused(text)
    assert said in line
    assert "\x1b" not in line


def test_a_column_is_given_once() -> None:
    assert "twice" in refused("yards=a", "yards=b")
    assert "two columns" in refused("yards=Qty", "returned=QTY ")


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("dose=lb/yd3", "lb/yd3"),
        ("dose=lb/yd", "lb/yd3"),
        ("dose=%", "%"),
        ("dose=lb per sack", "lb per sack"),
        ("depth=mm", "mm"),
        ("yards=m3", "m3"),
        ("air_low=C", "C"),
        ("poured_on=m/d/y", "m/d/y"),
        ("poured_on=D-M-Y", "d/m/y"),
        ("sealed_on=mdy", "m/d/y"),
    ],
)
def test_units_of_bare_cells(text: str, unit: str) -> None:
    key = text.partition("=")[0]
    assert told(units=(text,)).units == {key: unit}


@pytest.mark.parametrize(
    "text", ["dose=gal", "customer=lb", "yards=m/d/y", "poured_on=lb", "poured_on=m/d", "coats=lb", "dose=\0"]
)
def test_a_unit_that_does_not_fit_is_refused(text: str) -> None:
    assert "does not fit" in refused(units=(text,))


def test_what_is_told_now_goes_before_what_is_remembered() -> None:
    older = told("yards=Cu Yds", "note=Misc", units=("dose=%",), ignored=("Old", "Spare"))
    newer = told("dumped=Cu Yds", "crew=Old", units=("dose=lb/yd3",), ignored=("Misc",))
    both = newer.over(older)
    assert both.headers == {"dumped": "Cu Yds", "crew": "Old"}
    assert both.units == {"dose": "lb/yd3"}
    assert both.ignored == ("Spare", "Misc")


@given(
    st.dictionaries(st.sampled_from([column.key for column in COLUMNS]), st.text()),
    st.lists(st.text()),
)
def test_a_mapping_is_kept_as_it_was(headers: dict[str, str], ignored: list[str]) -> None:
    names = ColumnMap(headers, {"dose": "lb/yd3"}, tuple(ignored))
    assert ColumnMap.from_json(names.to_json()) == names


@pytest.mark.parametrize("text", ["", "x", "{}", "[]", '{"map": 1, "units": {}, "ignore": []}', "null"])
def test_what_another_kept_is_no_mapping(text: str) -> None:
    assert not ColumnMap.from_json(text)


def test_a_sheet_is_known_by_its_headers_in_any_order() -> None:
    key = mapping.setting_key(["Cu Yds", "Date", ""])
    assert key == mapping.setting_key(["date ", "CU_YDS"])
    assert key != mapping.setting_key(["Cu Yds", "Date", "Note"])
    assert mapping.is_setting(key)
    assert not mapping.is_setting("truck_yd3")


# what it does to a sheet


def test_a_foreign_sheet_is_read_by_its_mapping() -> None:
    names = told("poured_on=Day", "dose=Rate", units=("dose=lb/yd3", "poured_on=m/d/y"), ignored=("Office",))
    text = "Day,Rate,Office,Note\n6/16/2025,7,spare,x\n2025-06-17,4 %,,y\n"
    assert cells(text, names) == [
        {"poured_on": "2025-06-16", "dose": "7 lb/yd3", "note": "x"},
        {"poured_on": "2025-06-17", "dose": "4 %", "note": "y"},
    ]


@pytest.mark.parametrize(
    ("cell", "order", "kept"),
    [
        ("3/4/2025", "m/d/y", "2025-03-04"),
        ("3/4/2025", "d/m/y", "2025-04-03"),
        ("2025/3/4", "y/m/d", "2025-03-04"),
        ("03.04.2025", "d/m/y", "2025-04-03"),
        ("3/4/25", "m/d/y", "3/4/25"),
        ("2025/3/4", "m/d/y", "2025/3/4"),
        ("Jun 16 2025", "m/d/y", "Jun 16 2025"),
        ("31/12/2025", "m/d/y", "2025-31-12"),
    ],
)
def test_days_in_their_order(cell: str, order: str, kept: str) -> None:
    assert ColumnMap(units={"poured_on": order}).cell("poured_on", cell) == kept


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_separator_of_a_foreign_sheet_is_told_by_its_header(separator: str) -> None:
    text = separator.join(["Day", "Cu Yds"]) + "\n" + separator.join(["2025-06-16", "6.75"]) + "\n"
    assert sheet.read_header(text, COLUMNS) == ("Day", "Cu Yds")
    names = told("poured_on=Day", "yards=Cu Yds")
    assert cells(text, names) == [{"poured_on": "2025-06-16", "yards": "6.75"}]


def test_a_mapped_column_may_not_stand_twice() -> None:
    with pytest.raises(InputError, match="yards is in the header twice"):
        cells("poured_on,Cu Yds,yards\n2025-06-16,1,2\n", told("yards=Cu Yds"))


def test_a_header_the_sheet_does_not_have() -> None:
    with pytest.raises(InputError) as failure:
        mapping.require_headers(told("yards=Cu Yd"), ("Date", "Cu Yds"))
    assert "Did you mean “Cu Yds”?" in failure.value.line()
    with pytest.raises(InputError) as failure:
        mapping.require_headers(told(ignored=("zzz",)), ("Date", "Cu Yds"))
    assert failure.value.where == "--ignore"
    assert "“Date”, “Cu Yds”" in failure.value.line()


def test_samples_are_read_up_to_the_first_row_that_cannot_be_cut() -> None:
    text = '# help\n\nDay,Qty\n\n1,2\nragged\n3,4\n"x"y,5\n6,7\n'
    assert sheet.read_header(text, COLUMNS) == ("Day", "Qty")
    with pytest.raises(InputError, match="No header"):
        sheet.read_header("# only help\n", COLUMNS)
    with pytest.raises(InputError) as failure:
        sheet.read_header('"Day"x,y\n', COLUMNS)
    assert failure.value.where == "line 1"


@given(st.text(), st.text())
def test_any_mapping_is_read_or_refused(one: str, other: str) -> None:
    try:
        names = told(f"yards={one}", units=(f"dose={other}",))
    except InputError:
        return
    for row in sheet.read_rows("poured_on,dose\n2025-06-16,7\n", COLUMNS, ("poured_on",), names):
        assert isinstance(row, Row | BadLine)
