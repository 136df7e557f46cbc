"""What was logged reaches the plan: every fact of the day, in the stages or under Then."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finishlog.cli.plan.match import sheet
from finishlog.desk.jobs import edit
from finishlog.desk.match import plan
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.inputs.entry import entries
from finishlog.records.log import Shape
from finishlog.records.plan import Plan, PlanRequest
from finishlog.store import Log
from finishlog.trade.events import EVENTS, ORDER, entry_kind
from finishlog.trade.stages import KINDS
from finishlog.trade.stages.base import Param
from tests.trade.test_practice import PLACES

NOW = datetime(2026, 8, 30, 12, tzinfo=UTC)
JOB = "ottoline-quillfeather-back-patio"
STAGES = {kind.key for kind in KINDS}
SHOWN = [kind for kind in ORDER if entry_kind(kind).in_plan]
IN_WORDS = {
    ("finishing.bleed_water_gone", "no"): "finished on bleed water",
    ("load.retempered", "yes"): "re-tempered",
    ("load.drum_clean", "no"): "the drum was not clean",
    ("pour.ran_short", "yes"): "ran short",
}
WEIGHED = {"powder_release": "lb", "color_hardener": "lb", "antiquing_wash": "gal", "stain": "gal"}
LOAD_WORDS = (
    "plant",
    "mix_number",
    "cement_kind",
    "cement_mill",
    "scm_kind",
    "admixtures",
    "sand",
    "water_when",
)


def shop(folder: Path) -> Services:
    uids = count(1)
    log = Log.create(folder / "l.finishlog", clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    return Services(
        open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: NOW,
        find_zone=lambda: ZoneInfo("America/Chicago"),
    )  # fmt: skip


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    made = shop(tmp_path)
    texts = {"customer": "Ottoline Quillfeather", "job": "back patio", "areas": "field 24x18 4in"}
    edit.new_job(made, texts)
    yield made
    made.close()


def planned(services: Services, job: str = JOB, area: str | None = None) -> Plan:
    return plan.make(services, PlanRequest(job, (Shape(1, "rect", "12x10"),), "4 in", area=area))


def log(services: Services, kind: str, at: str = "2026-06-04 9a", **texts: str) -> None:
    record.record(services, JOB, kind, {"at": at, **texts}, because="so it was")


def then(made: Plan) -> dict[str, str]:
    return {line.title: line.text for line in made.then}


# --- what was logged only -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "title", "texts", "fact", "caution"),
    [
        (
            "antiquing_wash",
            "Antiquing wash",
            {"dilution": "1:8"},
            "Color : carrier: 1:8",
            "residue",
        ),
        ("stain", "Stain", {"base": "reactive"}, "Kind of stain: reactive", "Acid into water"),
        ("color_hardener", "Color hardener", {"casts": "2"}, "Casts: 2", "two casts"),
        ("liquid_release", "Liquid release", {"tint": "fox"}, "Tint in it: fox", "Puddles spot"),
        ("cure", "Cure", {"method": "sheet"}, "Method: sheet", "off the color"),
        ("stamp", "Stamp", {"slab_state": "stiff"}, "Slab at first stamp: stiff", "edge first"),
        ("joint", "Joints", {"spacing_ft": "9"}, "Spacing: 9 ft", "silica"),
        ("rinse", "Rinse", {"acid_ratio": "1:30"}, "Acid : water: 1:30", "Acid into water"),
    ],
)
def test_a_stage_that_was_only_logged_is_planned_again_with_its_caution(
    services: Services, kind: str, title: str, texts: dict[str, str], fact: str, caution: str
) -> None:
    log(services, kind, **texts)
    made = planned(services)
    [stage] = [stage for stage in made.stages if stage.kind == kind]
    assert fact in stage.facts
    assert fact in sheet(made)
    assert any(caution in one.text for one in made.cautions), made.cautions
    assert stage.title == title
    kept = plan.save(services, made, "more of it")
    with services.log().reading() as reading:
        [area] = reading.job(kept).areas
    assert area.recipe is not None
    assert kind in [stage.kind for stage in area.recipe.stages]


def test_how_it_was_that_day_stands_in_the_plan_what_was_amiss_first(services: Services) -> None:
    log(services, "load", yards="5", water_gal="10", water_when="after the color", slump_in="4", slump_end_in="6",
        retempered="yes", retarder="yes")  # fmt: skip
    log(services, "finishing", bleed_water_gone="no", passes="3")
    log(services, "stamp", slab_state="stiff", by="Bo")
    made = planned(services)
    assert then(made)["Load 1"] == (
        "re-tempered; 4 in slump, 6 in at the end; 10 gal of water added, after the color; retarder: yes"
    )
    assert then(made)["Finishing"] == "finished on bleed water; passes: 3"
    assert then(made)["Stamp"] == "slab at first stamp: stiff"
    assert then(made)["Crew"] == "stamped by Bo"
    weights = [line.weight for line in made.then]
    assert weights == sorted(weights)
    assert "act" in weights


def test_a_stage_done_in_parts_keeps_what_its_parts_had_otherwise(services: Services) -> None:
    log(services, "stamp", slab_state="soft", mats="4")
    log(services, "stamp", "2026-06-04 11a", slab_state="stiff")
    made = planned(services)
    [stage] = [stage for stage in made.stages if stage.kind == "stamp"]
    assert stage.facts == ("Mats in use: 4", "Slab at first stamp: stiff")
    told = [line.text for line in made.then if line.title == "Stamp"]
    assert told[0].startswith("slab at first stamp: soft")


def test_hardener_is_planned_as_thick_as_it_was_thrown(services: Services) -> None:
    log(services, "color_hardener", product="Fox Ear", amount="324 lb")
    [stage] = planned(services).stages
    assert [(need.amount, need.unit) for need in stage.needs] == [
        (90, "lb")
    ]  # 324 lb on 432 ft², now 120 ft²


def test_spoiled_powder_is_not_to_be_counted_on(services: Services) -> None:
    log(services, "sweep", "2026-06-05 9a", reclaimed_lb="4", spoiled="rain in the open bag")
    texts = {one.key: one.text for one in planned(services).differences}
    assert texts["spoiled"] == (
        "swept up, but spoiled by rain in the open bag: do not count on it; only the 4.00 lb kept clean"
    )


# --- every fact of generated jobs -----------------------------------------------------------------------


@dataclass(frozen=True)
class Told:
    """A logged entry, and what the plan of its area must say of it, each phrase in one line."""

    kind: str
    area: str | None
    phrases: tuple[str, ...]


def test_what_decides_about_the_color_is_shown() -> None:
    decisive = {place.partition(".")[0] for places in list(PLACES.values())[:45] for place in places}
    hidden = {kind.key for kind in (*KINDS, *EVENTS) if not kind.in_plan}
    assert decisive & hidden <= {"integral_color"}


def typed(param: Param, dice: Random, serial: Iterator[int]) -> tuple[str, str]:
    """A value as it is typed, and as it is read back."""
    if param.kind == "choice":
        word = dice.choice(param.choices).replace("_", " ")
        return word, word
    if param.kind == "yes_no":
        return (word := dice.choice(("yes", "no"))), word
    if param.kind == "ratio":
        return (ratio := f"1:{dice.randint(2, 40)}"), ratio
    if param.kind == "text":
        return (word := f"word{next(serial)}"), word
    low = max(int(param.low or 0), 1)
    number = str(dice.randint(low, min(int(param.high or 90), low + 60)))
    return number, number


def phrase(kind: str, param: Param, said: str) -> str:
    title = param.title.removesuffix(", min")
    return IN_WORDS.get((f"{kind}.{param.name}", said), f"{title}: {said}").casefold()


def facts(kind: str, dice: Random, serial: Iterator[int]) -> tuple[dict[str, str], list[str]]:
    texts, phrases = {}, []
    asked = {field.key for field in entries.fields_of(kind, entries.bare())}
    for param in entry_kind(kind).placed:
        if param.name in asked and dice.random() < 0.4:
            texts[param.name], said = typed(param, dice, serial)
            phrases.append(phrase(kind, param, said))
    return texts, phrases


def details(kind: str, dice: Random, serial: Iterator[int]) -> tuple[dict[str, str], list[str]]:
    """What an entry tells beside its own facts."""
    texts: dict[str, str] = {}
    phrases: list[str] = []
    if kind == "load":
        texts = {key: f"word{next(serial)}" for key in LOAD_WORDS if dice.random() < 0.5}
        phrases = list(texts.values())
        for key, words in (("slump_in", "in slump"), ("water_gal", "gal of water")):
            if dice.random() < 0.6:
                texts[key] = str(dice.randint(3, 6))
                phrases.append(f"{texts[key]} {words}")
        if dice.random() < 0.5:
            texts["slump_end_in"] = str(dice.randint(3, 6))
            phrases.append(
                f"{texts['slump_end_in']} in{' slump' if 'slump_in' not in texts else ''} at the end"
            )
    if kind in WEIGHED and dice.random() < 0.7:
        name, lot, much = f"word{next(serial)}", f"lot{next(serial)}", dice.randint(2, 9)
        texts = {"product": name, "lot": lot, "amount": f"{much} {WEIGHED[kind]}"}
        phrases = [f"{much} {WEIGHED[kind]} of {name}, lot {lot}"]
    if kind == "sample":
        texts = {"kept_where": f"word{next(serial)}", "half_sealed": "yes", "size": "2x2 ft"}
        phrases = [texts["kept_where"], "half sealed", "2x2 ft"]
    if kind == "seal" and dice.random() < 0.5:
        texts = {"slab_f": str(dice.randint(50, 80)), "humidity_percent": str(dice.randint(30, 80))}
        phrases = [f"{texts['slab_f']} °f slab", f"{texts['humidity_percent']} % humidity"]
    if dice.random() < 0.3:
        texts["by"] = f"Hand{next(serial)}"
        phrases.append(texts["by"].casefold())
    return texts, phrases


def entry(kind: str, area: str | None, dice: Random, serial: Iterator[int]) -> tuple[Told, dict[str, str]]:
    own, phrases = facts(kind, dice, serial)
    more, others = details(kind, dice, serial)
    texts = {"at": "2026-06-04 9a", "area": area or "all", **own, **more}
    return Told(kind, area, (*phrases, *others)), texts


def generated(
    services: Services, dice: Random, serial: Iterator[int]
) -> tuple[str, list[str], list[Told], list[Told]]:
    """A job of one to three areas: what stands of what was logged, and what does not."""
    areas = ["field", "border", "steps"][: dice.randint(1, 3)]
    name = f"job {next(serial)}"
    job = edit.new_job(
        services, {"job": name, "areas": ", ".join(f"{area} 12x{i + 8} 4in" for i, area in enumerate(areas))}
    ).job
    stands: list[Told] = []
    gone: list[Told] = []
    for kind in dice.sample(SHOWN, dice.randint(3, 7)):
        for _ in range(dice.randint(1, 3)):
            area = dice.choice([*areas, None]) if len(areas) > 1 else areas[0]
            told, texts = entry(kind, area, dice, serial)
            if kind == "load" and area and len(areas) > 1 and dice.random() < 0.5:
                texts |= {"yards": "9", "map": f"{area}=3"}
                del texts["area"]
            done = record.record(services, job, kind, texts, because="so it was")
            fate = dice.random()
            if fate < 0.15:
                taking_back.undo(services, job, done.entry.number)
                gone.append(told)
            elif fate < 0.3:
                gone.append(told)
                told, again = entry(kind, area, dice, serial)
                blanked = dict.fromkeys(texts, "")  # a correction keeps what it does not say
                record.record(
                    services, job, kind, blanked | again, replaces=done.entry.number, because="it was so"
                )
                stands.append(told)
            else:
                stands.append(told)
    return job, areas, stands, gone


def lines_of(made: Plan) -> list[str]:
    """Every line in which a plan says how it was done."""
    stages = [" ".join((stage.title, *stage.products, *stage.facts)) for stage in made.stages]
    return [line.casefold() for line in (*stages, *(f"{one.title} {one.text}" for one in made.then))]


def held(services: Services, seed: int, serial: Iterator[int]) -> None:
    job, areas, stands, gone = generated(services, Random(seed), serial)
    for area in areas:
        made = planned(services, job, area)
        said, printed = lines_of(made), " ".join(sheet(made).casefold().split())
        for told in stands:
            if told.area in (None, area):
                missing = [words for words in told.phrases if not any(words in line for line in said)]
                assert not missing, (told.kind, missing, said)
                assert not (unprinted := [words for words in told.phrases if words not in printed]), unprinted
        for told in gone:
            unique = [word for word in told.phrases if word.startswith("word")]
            still = [word for word in unique for line in said if word in re.findall(r"\w+", line)]
            assert not still, (told.kind, still, said)


def over(folder: Path, examples: int) -> None:
    made, serial = shop(folder), count(1000)

    @settings(max_examples=examples, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(st.integers(0, 2**32))
    def holds(seed: int) -> None:
        held(made, seed, serial)

    try:
        holds()
    finally:
        made.close()


def test_every_logged_fact_of_a_generated_job_is_found_in_its_plan(tmp_path: Path) -> None:
    over(tmp_path, 8)


@pytest.mark.long
def test_every_logged_fact_of_three_hundred_generated_jobs_is_found(tmp_path: Path) -> None:
    over(tmp_path, 300)
