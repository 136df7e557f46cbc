"""The sheets of a plan: match sheet, batch sheet, day card."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import time
from fractions import Fraction

import pytest

from finishlog.desk.jobs import page as job_page
from finishlog.desk.match import plan as planning
from finishlog.desk.plan import as_json
from finishlog.desk.services import Services
from finishlog.papers import make
from finishlog.papers.layout import style
from finishlog.papers.layout.ink import Ink
from finishlog.papers.sheets import day_card
from finishlog.records.plan import Plan
from tests.papers import reading
from tests.papers.conftest import BLEND, REFERENCE

Make = Callable[..., Plan]
LOADS = {1: ("20x12",), 2: ("30x36",), 3: ("40x40",), 4: ("48x46",)}


def sheet(
    services: Services, plan: Plan, *names: make.PlanSheet, paper: str = "letter", units: str = "us"
) -> bytes:
    return make.plan_sheets(plan, names, make.look(services, units), paper)


def pounds(value: float) -> str:
    """Pounds of the plan's JSON in pounds and ounces, apart from the program's own writer."""
    whole, rest = divmod(int(value * 16 + 0.5), 16)
    return f"{whole} lb {rest} oz" if whole and rest else f"{whole} lb" if whole else f"{rest} oz"


@pytest.mark.parametrize("reference", [REFERENCE, BLEND])
@pytest.mark.parametrize("rects", LOADS.values(), ids=LOADS.keys())
def test_every_figure_of_the_plan_stands_on_the_match_sheet(
    services: Services, plan: Make, rects: tuple[str, ...], reference: str
) -> None:
    made = plan(*rects, reference=reference)
    answer, text = as_json.plan_json(made), reading.text(sheet(services, made, "match"))
    expected = [
        f"{answer['concrete']['order_yd3']:.2f} yd³",
        f"neat {answer['concrete']['volume_yd3']:.2f} yd³",
        pounds(sum(load["pigment_lb"] for load in answer["pigment"]["loads"])),
        f"{answer['pigment']['dose_lb_per_yd3']:.2f} lb/yd³",
        pounds(answer["release"]["lb"]),
        f"{answer['sealer']['gal']:.1f} gal",
        answer["answer"],
        *(f"Load {i} {load['yards']:.2f} yd³ {pounds(load['pigment_lb'])}"
          for i, load in enumerate(answer["pigment"]["loads"], 1)),
        *(day["when"] for day in answer["dates"]),
        *(difference["text"] for difference in answer["differences"]),
        *answer["tell_customer"], *answer["buried"], *answer["missing"],
        *(caution["text"] for caution in answer["cautions"]),
    ]  # fmt: skip
    flat = text.replace(" ", "")
    assert [item for item in expected if item.replace(" ", "") not in flat] == []
    assert len(answer["pigment"]["loads"]) == len(made.concrete.loads.loads_yd3)


@pytest.mark.parametrize("reference", [REFERENCE, BLEND])
@pytest.mark.parametrize("rects", LOADS.values(), ids=LOADS.keys())
def test_the_plant_gets_each_load_to_the_ounce(
    services: Services, plan: Make, rects: tuple[str, ...], reference: str
) -> None:
    made = plan(*rects, reference=reference)
    answer, text = as_json.plan_json(made), reading.text(sheet(services, made, "batch"))
    for at, load in enumerate(answer["pigment"]["loads"]):
        own = (
            text.partition(f"Load {at + 1} ")[2].partition(f"Load {at + 2} ")[0].partition("Balance load")[0]
        )
        assert f"{load['yards']:.2f} yd³" in own
        assert pounds(load["pigment_lb"]) in own
        for part in answer["pigment"]["parts"]:
            share = part["loads"][at]
            assert pounds(part["loads_lb"][at]) in own
            assert re.search(rf"\b{share['packs']} packs? of \d+ lb", own)
            assert not share["remainder_lb"] or f"+ {pounds(share['remainder_lb'])} weighed" in own
        assert {"ticket no.", "truck", "arrived", "driver", "crew"} <= {
            label for label in ("ticket no.", "truck", "arrived", "driver", "crew") if label in own
        }
        assert "water added before the color" in own


def test_the_plant_is_told_what_makes_the_color(services: Services, plan: Make) -> None:
    text = reading.text(
        sheet(services, plan("20x12", plant="Turnip Hill", cement_lb_per_yd3=Fraction(564)), "batch")
    )
    for wanted in (
        "No water after the color.", "No calcium chloride.", "A clean drum.", "Turnip Hill",
        "564 lb/yd³ cement", "Lower Thimble plant, mix T-4006", "air, water reducer", "sand Eel Creek",
        "4.5 in, the same on every load", "the same ratio as on ticket NT-2101", "14 Tumbledown Lane",
        "Mix 10 minutes after the color",
    ):  # fmt: skip
        assert wanted in text
    assert "as then" not in text
    assert "runs short" not in text
    assert "Gas and electric" not in text


def test_the_clock_and_the_joints_stand_on_the_sheets_that_need_them(services: Services, plan: Make) -> None:
    made = plan("22x16", "8x3", start=time(7), air_f=Fraction(85))
    match, batch, card = (reading.text(sheet(services, made, name)) for name in make.PLAN_SHEETS)
    for wanted in ("Pour day", "Truck 1 7a", "Release on", "For air of 85 °F.", "57 ft", "3 × 2 panels of 7' 4\"",
                   "Ask a licensed", "ACI 302.1R-96"):  # fmt: skip
        assert wanted in match, wanted
    assert "first truck on site at 7a" in batch
    for wanted in ("first truck due 7a", "air °F 85", "Truck 1 7a · Release on", "3 × 2 panels of 7' 4\"",
                   "a joint from each inside corner", "about doweling into the old slab"):  # fmt: skip
        assert wanted in card, wanted
    unsaid = plan("22x16")
    assert "Start not given" in reading.text(sheet(services, unsaid, "match"))
    assert "Truck 1 first on site · Release on +" in reading.text(sheet(services, unsaid, "daycard"))


def test_a_plan_without_clock_and_joints_has_neither_on_paper(services: Services, plan: Make) -> None:
    bare = replace(plan("22x16"), joints=None, clock=None)
    for name in ("match", "daycard"):
        text = reading.text(sheet(services, bare, name))
        assert "panels of" not in text
        assert "Truck 1" not in text
    metric = plan("22x16", units="metric", air_f=Fraction(68))
    told = reading.text(sheet(services, metric, "match", "daycard", units="metric"))
    assert "20.0 °C" in told
    assert "air °C 20" in told
    assert "°F" not in told
    assert "2.24 m × 2.44 m" in told


def test_an_old_lot_is_called_old_until_somebody_says_it_is_on_the_shelf(
    services: Services, plan: Make
) -> None:
    unsaid, said = plan("20x12"), plan("20x12", lots=("w-382",))
    for name in ("match", "batch", "daycard"):
        order = [
            reading.text(sheet(services, made, name)).partition("The old slab")[0] for made in (unsaid, said)
        ]
        old = re.compile(r"old (lot )?W-382")
        assert old.search(order[0]), name
        assert "W-382" in order[1], name
        assert not old.search(order[1]), name


def test_a_small_load_is_said_on_the_match_and_the_batch_sheet(services: Services, plan: Make) -> None:
    small = plan("10x10")
    assert [small.cautions[0].stage, small.cautions[0].text] == [
        "Loads", "Load 1, 2 yd³: under 3 yd³ color mixes poorly."
    ]  # fmt: skip
    assert "color mixes poorly" in reading.text(sheet(services, small, "batch"))
    assert all(caution.stage != "Loads" for caution in plan("20x12").cautions)


def test_the_day_card_asks_in_the_order_of_the_day(services: Services, plan: Make) -> None:
    text = reading.text(sheet(services, plan("30x36"), "daycard"))
    order = [
        "pour day", "crew", "humidity", "Load 1", "ticket", "arrived", "yards", "pigment", "lot", "water gal",
        "slump", "Load 2", "Balance", "Release", "thrown", "Stamp", "pattern", "Finishing", "bleed water", "Joints",
        "Cure", "End of pour", "load 1 returned", "dumped", "Samples", "First 72 h", "Sweep", "Rinse", "Seal",
        "coat 1", "coat 2", "Notes",
    ]  # fmt: skip
    at = 0
    for label in order:
        at = text.find(label, at)
        assert at >= 0, label


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("loads", [1, 2])
@pytest.mark.parametrize("reference", [REFERENCE, BLEND])
def test_the_day_card_always_asks_what_a_color_was_read_on(
    services: Services, plan: Make, loads: int, paper: str, reference: str
) -> None:
    text = reading.text(sheet(services, plan(*LOADS[loads], reference=reference), "daycard", paper=paper))
    color = text[text.index("Color read") :]
    assert [word for word in ("dry", "damp", "bare", "sealed") if word not in color] == []
    assert "Notes" in text or "notes on the back" in text


def test_the_day_card_shows_what_is_planned_and_what_was(services: Services, plan: Make) -> None:
    made = plan("30x36")
    answer, text = as_json.plan_json(made), reading.text(sheet(services, made, "daycard"))
    for load in answer["pigment"]["loads"]:
        assert f"yards {load['yards']:.2f} yd³ pigment {pounds(load['pigment_lb'])}" in text
    for wanted in (
        f"thrown, Heron's Elbow {pounds(answer['release']['lb'])}", "old H-382", "pattern ashlar slate",
        "was 45 h", "2000 psi", "25°", "left 19 %", "depth 1 in", "6–18 h", "Mon Apr 12",
    ):  # fmt: skip
        assert wanted in text
    for coat in answer["sealer"]["coats"]:
        assert f"sealer {coat['gal']:.1f} gal" in text
    assert text.count("Buried here: gas line, 18 in down") == 2, "in the morning and before any joint"


@pytest.mark.parametrize(
    ("paper", "loads"),
    [
        *(("letter", loads) for loads in (1, 2, 3)),  # the shorter of the two
        ("a4", 3),
        *(pytest.param("a4", loads, marks=pytest.mark.long) for loads in (1, 2)),
    ],
)
@pytest.mark.parametrize("reference", [REFERENCE, BLEND])
def test_one_page_for_the_plant_and_a_leaf_for_the_owner(
    services: Services, plan: Make, loads: int, paper: str, reference: str
) -> None:
    """The owner's plan is the two sides of one leaf; the crew's card turns over where three loads need it."""
    made = plan(*LOADS[loads], reference=reference)
    assert len(made.concrete.loads.loads_yd3) == loads
    most = {"match": 2, "batch": 1, "daycard": 2}
    for name in make.PLAN_SHEETS:
        found = reading.pages(sheet(services, made, name, paper=paper))
        assert len(found) <= most[name], name
        for number, page in enumerate(found, 1):
            assert page.rstrip().endswith(f"{number} of {len(found)}")
    data = sheet(services, made, *make.PLAN_SHEETS, paper=paper)
    assert reading.marks_inside(data)
    size = reading.reader(data).pages[0].mediabox
    assert (round(size.width), round(size.height)) == {"letter": (612, 792), "a4": (595, 842)}[paper]


def test_four_loads_are_one_page_for_the_plant(services: Services, plan: Make) -> None:
    made = plan(*LOADS[4], reference=BLEND)
    assert len(made.concrete.loads.loads_yd3) == 4
    assert len(reading.pages(sheet(services, made, "batch"))) == 1


def test_more_loads_go_on_to_more_pages_with_head_and_number(services: Services, plan: Make) -> None:
    made = plan("100x90")
    loads = len(made.concrete.loads.loads_yd3)
    assert loads > 10
    for name in ("batch", "daycard"):
        data = sheet(services, made, name)
        found = reading.pages(data)
        assert len(found) > 1
        for number, page in enumerate(found, 1):
            assert f"{number} of {len(found)}" in page
            assert "Wilhelmina Bogglethwaite · front yard" in page
        assert all(f"Load {number}" in " ".join(found) for number in range(1, loads + 1))
        assert reading.marks_inside(data)


def test_a_plan_without_a_dose_says_so(services: Services, plan: Make) -> None:
    made = plan("20x12")
    bare = replace(made, pigment=None, pigment_advice="Pour a ladder of samples.", release=None)
    for name in make.PLAN_SHEETS:
        assert reading.pages(sheet(services, bare, name))
    assert "Pour a ladder of samples." in reading.text(sheet(services, bare, "batch"))
    assert "Release" not in reading.text(sheet(services, bare, "daycard"))


def test_metric_sheets_have_no_american_units(services: Services, plan: Make) -> None:
    made = plan("20x12", reference=BLEND, units="metric")
    text = reading.text(sheet(services, made, *make.PLAN_SHEETS, units="metric"))
    assert re.findall(r".{20}\d (?:lb|oz|gal|yd³|ft²|in (?:deep|slump|down))\b", text) == []
    assert f"{float(made.concrete.order.best.order_yd3) * 0.764554857984:.2f} m³" in text
    assert re.findall(r"\b(?:gal|gallons|yards|ounce|°F|pounds)\b", text) == []
    assert "Colored concrete under 2.3 m³ mixes poorly" in text


def test_the_old_slab_is_shown_in_its_own_colors(services: Services, plan: Make) -> None:
    from finishlog.color.notation.space import lab_to_srgb

    made = plan("20x12")
    found = reading.fills(sheet(services, made, "match"))
    for seen in (made.reference.base_reading, made.reference.release_reading):
        assert seen is not None
        assert lab_to_srgb((seen.L, seen.a, seen.b)) in found


def test_the_same_plan_makes_the_same_bytes(services: Services, plan: Make) -> None:
    made = plan("20x12")
    assert sheet(services, made, "match") == sheet(services, made, "match")


def test_the_shop_s_name_stands_on_every_sheet_and_is_nowhere_without(services: Services, plan: Make) -> None:
    made = plan("20x12")
    name = "Crooked Float & Daughters"
    assert name not in reading.text(sheet(services, made, *make.PLAN_SHEETS))
    with services.log().writing() as log:
        log.set_setting("shop_name", name)
    for each in make.PLAN_SHEETS:
        found = reading.pages(sheet(services, made, each))
        assert name in found[0], "the further pages of a sheet have its title for a head"
        assert all("Puddlecombe · 555-0100" in page for page in found)


def test_no_sheet_for_plant_or_customer_speaks_of_a_match_that_nobody_can_tell(
    services: Services, plan: Make
) -> None:
    """The mix has changed and no sample was read: the shop's sheet leads with that, the others promise nothing."""
    made = plan("20x12")
    shop = reading.text(sheet(services, made, "match"))
    assert "Cannot tell before a sample." in shop
    assert "would give" not in shop
    planned = planning.save(services, made, "addition")
    for text in (
        reading.text(sheet(services, made, "batch")),
        reading.text(make.job_sheet(job_page.lay_open(services, planned), "customer", make.look(services))),
    ):
        assert not re.search(r"match|promise|in 10|it will be close", text, re.IGNORECASE)


def test_the_plant_reads_what_changed_of_the_mix(services: Services, plan: Make) -> None:
    made = plan("20x12", cement_lb_per_yd3=Fraction(480))
    [content] = [each for each in made.differences if each.key == "cement_content"]
    text = reading.text(sheet(services, made, "batch"))
    assert f"Changed since then Cement content: {content.text}" in text
    assert "ask before ordering" not in text


@pytest.mark.parametrize("loads", [1, 2])
def test_a_pencil_in_a_glove_has_room_on_the_card(services: Services, plan: Make, loads: int) -> None:
    """Two pages rather than lines too close to write on; what comes after the day begins the second."""
    made = plan(*LOADS[loads], reference=BLEND)
    card = day_card.draw(Ink(style.paper("letter")), made, make.look(services, "us"))
    assert card.writing >= 17
    first, *later = reading.pages(sheet(services, made, "daycard"))
    assert "Samples" in first
    assert ("First 72 h" in first) == (not later)
