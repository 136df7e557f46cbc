"""Today as many look at it at once: made once for a minute, and anew when something was written."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from finishlog.desk.due import today

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.due import Today


def at_hand(services: Services, each: int | None) -> Today:
    """Today without a look ahead at its pours, of each state so many lines as `today.today` takes.

    What it says changes with the minute and with the log, and with nothing else.
    """
    minute = services.clock().replace(second=0, microsecond=0)
    with services.log().reading() as log:
        mark = f"{log.moment().token} {minute.isoformat()}"
    held = services.kept.get(name := f"today/{each}")
    if held is not None and held[0] == mark:
        return cast("Today", held[1])
    found = today.today(services, pours=False, each=each)
    services.kept[name] = mark, found
    return found
