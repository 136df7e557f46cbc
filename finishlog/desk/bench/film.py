"""`film`: sealer by coat. Needs no log; what a request leaves open is the shop's setting."""

from __future__ import annotations

from fractions import Fraction

from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.film import FilmAnswer, FilmRequest
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.cautions import cautions
from finishlog.trade.sealing import sealer
from finishlog.units import write


def film(request: FilmRequest, shop: Shop, system: str = "us") -> FilmAnswer:
    """Sealer gallons and the film by coat. `system` is only for the words. Raises InputError."""
    coats = request.coverages_ft2_per_gal or (shop.coat_1_ft2_per_gal, shop.coat_2_ft2_per_gal)
    solids = shop.solids_percent if request.solids_percent is None else request.solids_percent
    relief = request.relief_percent
    if relief is None:
        relief = shop.relief_percent if request.stamped else Fraction(0)
    need = sealer.sealer_need(request.area_ft2, coats, solids, relief, request.existing_mil)
    over = need.dry_mil > shop.film_alarm_mil
    dry, limit = (write("film_mil", mil, system) for mil in (need.dry_mil, shop.film_alarm_mil))
    alarm = f"{dry} is over the film alarm of {limit}: a heavy film blushes, bubbles and peels."
    return FilmAnswer(
        need=need,
        alarm_mil=shop.film_alarm_mil,
        cautions=((Caution("film", alarm),) if over else ()) + cautions("seal"),
        sources=(sources.FILM, sources.COVERAGE),
    )
