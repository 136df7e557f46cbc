"""Three texts of a field: as read, as it is now, as typed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from finishlog.desk.meanwhile import meet

WORDS = st.sampled_from(["", "a", " a ", "b", "c"])
TEXTS = st.fixed_dictionaries({"one": WORDS, "two": WORDS})


@given(TEXTS, TEXTS, TEXTS)
def test_no_text_is_lost_and_none_overwritten(
    begun: dict[str, str], now: dict[str, str], typed: dict[str, str]
) -> None:
    met = meet(begun, now, typed)
    for key in typed:
        was, theirs, mine = begun[key].strip(), now[key].strip(), typed[key].strip()
        changed = (theirs != was, mine != was)
        if changed == (True, True) and mine != theirs:
            assert key in met.clashing
        elif changed == (True, False):
            assert key in met.taken
        else:
            assert key not in (*met.taken, *met.clashing)


def test_a_field_that_is_not_there_any_more_is_as_blank() -> None:
    assert meet({"one": "a"}, {}, {"one": "b"}).clashing == ("one",)
    assert meet({"one": "a"}, {}, {"one": "a"}).taken == ("one",)
