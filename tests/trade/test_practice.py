"""Every fact that decides a finish has a place in the log (common practice, no source).

A place is `kind.fact` of what is logged, or `Record.field` of what the log holds.
"""

from __future__ import annotations

import dataclasses

import pytest

from finishlog.records import log
from finishlog.trade.events import entry_kind

PLACES: dict[str, tuple[str, ...]] = {
    # 1 the mix
    "cement type and mill": ("Mix.cement_kind", "Mix.cement_mill"),
    "other cementitious kind and share": ("Mix.scm_kind", "Mix.scm_lb_per_yd3", "Mix.cement_lb_per_yd3"),
    "sand source": ("Mix.sand",),
    "the plant's mix number": ("Mix.number", "Mix.plant"),
    "a mix from one day to another": ("Mix.valid_from", "Mix.valid_to"),
    # 2 admixtures per load
    "accelerator, chloride or not": ("load.accelerator",),
    "retarder": ("load.retarder",),
    "plasticizer": ("load.plasticizer",),
    "air": ("load.air_percent",),
    "pounds of pigment to the yard": ("load.dose_told_lb_per_yd3",),
    "wind, sun or shade at a load": ("load.load_wind_mph", "load.light"),
    "what is always in the mix": ("Mix.admixtures",),
    # 3 water
    "water and when": ("Load.water_gal", "Load.water_when"),
    "before or after the color": ("load.water_against_color", "load.water_after_color_gal"),
    "re-tempered": ("load.retempered",),
    "slump at both ends of the load": ("Load.slump_in", "Load.slump_end_in"),
    "drum turns after color": ("load.drum_turns_after_color",),
    "mixing after color": ("load.mixing_minutes",),
    # 4 curing
    "none, cure-and-seal, compound, sheet or wet": ("cure.method", "cure.days"),
    "sheets and damp blankets mark color": ("cure.touched_color", "cure.marks"),
    # 5 finishing
    "bleed water gone": ("finishing.bleed_water_gone",),
    "passes": ("finishing.passes",),
    "burnished spots": ("finishing.burnished_spots",),
    "finishing aid or water sprayed": ("finishing.sprayed",),
    "slab state at stamping": ("stamp.slab_state",),
    # 6 release
    "pounds thrown": ("powder_release.thrown_lb", "MaterialUse.amount"),
    "mix ratio of two shades": ("powder_release.mix_ratio", "StageMaterial.product"),
    "fresh or reclaimed": ("powder_release.reclaimed_percent", "MaterialUse.reclaimed"),
    # 7 rinse
    "rinse age": ("Entry.happened", "rinse.age_h"),
    "rinse slab temperature": ("rinse.slab_temperature_f",),
    "rinse pressure, tip, distance, passes": (
        *("rinse.pressure_psi", "rinse.tip_deg", "rinse.distance_in", "rinse.passes"),
    ),
    "detergent or acid ratio, neutralized": ("rinse.detergent", "rinse.acid_ratio", "rinse.neutralized"),
    "release left in the end": ("rinse.release_left_percent",),
    # 8 sun, shade, weather
    "sun or shade per area": ("Area.exposure", "Site.exposure"),
    "rain and temperatures for the first 72 hours": (
        *("weather.rain_in", "weather.rain_began_h", "weather.low_f", "weather.high_f"),
        *("weather.wind_mph", "weather.humidity_percent", "weather.sky", "weather.from_h", "weather.to_h"),
    ),
    # 9 sealer
    "sealer chemistry": ("seal.chemistry", "seal.carrier", "Product.chemistry"),
    "sealer tint and grip additive": ("seal.tint", "seal.grip"),
    "spray, roll, back-roll": ("seal.method",),
    "sealer age": ("Entry.happened",),
    "efflorescence cleaned first": ("seal.efflorescence",),
    # 10 load map
    "which truck landed where": ("Load.areas", "Load.ticket"),
    "who broadcast, stamped and rinsed there": ("Entry.person", "Entry.area"),
    # also
    "mat set and wear": ("stamp.mat_set", "stamp.mat_wear"),
    "damp subgrade or sheet under the slab": ("pour.subgrade", "pour.sheet_under"),
    "joint method": ("joint.method", "joint.depth_in", "joint.spacing_ft"),
    "touch-up": ("stamp.touch_up",),
    # the best record of all
    "a 2 x 2 ft sample from each load, kept, half of it sealed": (
        *("Sample.number", "Sample.load", "Sample.size", "Sample.kept_where", "Sample.half_sealed"),
    ),
    # how it really goes
    "sections, borders, bands, steps, walls, repairs": ("Area.kind", "pour.sections"),
    "overlays: bags and mix water": ("bag_mix.bags", "bag_mix.water_per_bag_gal"),
    "customer-approved samples": ("Approval.sample", "Approval.by", "Approval.approved", "Entry.files"),
    "change orders with their reason": ("Recipe.reason", "Recipe.version", "change.asked_by"),
    "claims: cause, action, outcome": ("Claim.complaint", "Claim.cause", "Claim.action", "Claim.outcome"),
    "a new owner of the house": ("Owner.customer", "Owner.since"),
    "damp and sealed readings kept apart": ("Reading.damp", "Reading.sealed", "Reading.spot"),
    "slab steady or cooling, out of sun": ("seal.slab_trend", "seal.shade"),
    "dew point when sealing": ("Coat.slab_f", "Coat.air_f", "Coat.humidity_percent"),
    "two thin coats, crosswise, 2 to 24 h apart": ("Coat.number", "seal.crosswise", "Entry.happened"),
    "the plastic-sheet test: hidden spots, several": ("dryness_test.spots", "dryness_test.sheet_on_h"),
    "proven dry": ("seal.dry_proven", "dryness_test.result"),
    "unknown film: rag test and a trial": ("visit.old_film", "visit.rag_test", "visit.trial_patch"),
    "reseal by condition": ("visit.condition", "visit.harsh", "visit.film_mil", "Coat.reseal"),
    "wiped, stripped": ("strip.how", "strip.extent"),
    "clean and wet a small patch": ("strip.extent", "Reading.damp"),
    "reclaimed powder, swept up clean or spoiled": ("sweep.reclaimed_lb", "sweep.spoiled", "sweep.bagged"),
    "ran short, and where it stopped": (
        "pour.ran_short",
        "pour.why_short",
        "pour.stopped_at",
        "Load.is_balance",
    ),
    "how stiff the edge was": ("pour.edge_minutes",),
    "where the leftover went": ("Load.returned_yd3", "Load.dumped_yd3", "pour.leftover_to"),
    "the truck limit": ("load.truck_minutes",),
    "a clean drum": ("load.drum_clean",),
    "what is buried": ("Buried.what", "Buried.where", "Buried.depth_in", "joint.lines_checked"),
    "hardener in two casts": ("color_hardener.casts", "color_hardener.thrown_lb"),
    "liquid release": ("liquid_release.coverage_ft2_per_gal", "liquid_release.sprayed_gal"),
    "saw cut, hours and a quarter of the depth": ("joint.age_h", "joint.depth_in", "joint.dust"),
    "antiquing wash over an over-rinsed slab": ("antiquing_wash.why", "antiquing_wash.dilution"),
    "stain, residue off before sealing": ("stain.base", "stain.residue_off", "stain.neutralized"),
}


def exists(place: str) -> bool:
    owner, _, name = place.partition(".")
    if owner[0].isupper():
        return name in {field.name for field in dataclasses.fields(getattr(log, owner))}
    return name in {param.name for param in entry_kind(owner).placed}


@pytest.mark.parametrize("fact", PLACES)
def test_a_fact_of_the_trade_has_its_place(fact: str) -> None:
    assert PLACES[fact]
    for place in PLACES[fact]:
        assert exists(place), place


def test_a_place_that_is_none_is_told() -> None:
    assert not exists("Mix.shoe_size")
    assert not exists("rinse.shoe_size")
