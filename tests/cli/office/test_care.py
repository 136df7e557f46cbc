"""`care`, as other programs and people call it: on the demo's log, and on one with a whole life."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import icalendar
import pytest

from tests.conftest import Ran

Run = Callable[..., Ran]
JOB = "wobblestone-back-patio"


def by_job(ran: Ran) -> dict[str, dict[str, object]]:
    return {row["job"]: row for row in ran.json()}


def test_due_reseals_as_json(finishlog: Run, demo: str) -> None:
    rows = by_job(finishlog("--log", demo, "care", "--by", "2026-08-31", "--json"))
    row = rows[JOB]
    assert {"job", "customer", "due_from", "due_to", "state", "wipe"} <= row.keys()
    assert (row["customer"], row["state"], row["wipe"]) == ("Prudence Wobblestone", "due", False)
    assert all(str(each["due_from"]) <= "2026-08-31" for each in rows.values())
    assert finishlog("--log", demo, "care", "--by", "2020-01-01", "--json").json() == []


def test_the_office_works_through_it(finishlog: Run, demo: str) -> None:
    def state() -> object:
        return by_job(finishlog("--log", demo, "care", "--json"))[JOB]["state"]

    assert finishlog("--log", demo, "care", "wobble", "contacted", "--note", "wants a Friday").status == 0
    assert state() == "contacted"
    booked = finishlog("--log", demo, "care", JOB, "booked", "--on", "2026-08-14", "--json").json()
    assert (booked["kind"], booked["facts"]["state"]) == ("care", "booked")
    assert booked["sentence"].startswith(f"Entry {booked['number']}: reseal booked for 2026-08-14.")
    assert state() == "booked"
    text = finishlog("--log", demo, "care").out
    assert "● booked" in text
    assert "Fri Aug 14" in text
    assert finishlog("--log", demo, "undo", JOB).status == 0
    assert state() == "contacted"
    winter = finishlog("--log", demo, "care", JOB, "booked", "--on", "2026-12-04")
    assert (winter.status, "Fri Dec 4 is off season: you seal Apr to Oct." in winter.err) == (2, True)
    assert finishlog("--log", demo, "care", JOB, "ask-again", "--on", "in 6 months").status == 0
    row = by_job(finishlog("--log", demo, "care", "--json"))[JOB]
    assert (row["state"], row["on"], row["moved"]) == ("ask_again", "2026-12-16", False)
    assert finishlog("--log", demo, "care", JOB, "done", "--on", "2026-06-15").status == 0
    assert by_job(finishlog("--log", demo, "care", "--json"))[JOB]["state"] == "done"
    one = finishlog("--log", demo, "care", JOB, "--json").json()
    assert (one["state"], one["due_from"], one["number"]) == ("due", "2029-06-15", 2)


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("--by", "8/31/2026"), "--by"),
        (("--per-week", "4"), "week plan"),
        (("--plan", "--per-week", "0"), "--per-week"),
        (("--plan", "--per-week", "-1"), "--per-week"),
        ((JOB, "sold"), "not a reseal state"),
        ((JOB, "booked"), "needs a day"),
        ((JOB, "booked", "--on", "soon"), "--on"),
        ((JOB, "contacted", "--by", "2026-08-31"), "by itself"),
        (("--note", "x"), "for one job"),
        (("--force",), "No file"),
        (("no-such-job", "contacted"), "No job"),
        (("--ics", ""), "--ics"),
        (("--ics", "no/such/folder.ics"), "--ics"),
        (("--mail", "no/such/folder"), "--mail"),
    ],
)
def test_wrong_input_is_one_line(finishlog: Run, demo: str, argv: tuple[str, ...], words: str) -> None:
    ran = finishlog("--log", demo, "care", *argv)
    assert (ran.status, ran.out) == (2, "")
    assert len(ran.err.splitlines()) == 1
    assert words in ran.err


def test_the_plan_and_keeping_it(finishlog: Run, demo: str) -> None:
    made = finishlog("--log", demo, "care", "--plan", "--per-week", "2", "--json").json()
    assert made["per_week"] == 2
    assert all(len(week["visits"]) <= 2 for week in made["weeks"])
    assert any("2 a week at most" in line for line in made["how"])
    kept = finishlog("--log", demo, "care", "--plan", "--per-week", "2", "--keep")
    assert "of 9 jobs was kept" in kept.err
    rows = by_job(finishlog("--log", demo, "care", "--json"))
    planned = {visit["job"]: visit["on"] for week in made["weeks"] for visit in week["visits"]}
    assert {job: row["on"] for job, row in rows.items()} == planned
    assert all(row["by_plan"] for row in rows.values())


def test_a_day_of_another_year_is_said_with_its_year(finishlog: Run, demo: str) -> None:
    """The demo's day is in June 2026."""
    kept = finishlog("--log", demo, "care", JOB, "booked", "--on", "2027-05-04")
    assert kept.status == 0, kept.err
    assert "Tue May 4 2027" in kept.out
    assert "Tue May 4 2027" in finishlog("--log", demo, "care", "--by", "2027-12-31").out
    assert "Week of Mon May 3 2027" in finishlog("--log", demo, "care", "--plan", "--by", "2027-12-31").out
    finishlog("--log", demo, "care", JOB, "booked", "--on", "2026-08-14")
    text = finishlog("--log", demo, "care").out
    assert "Fri Aug 14" in text
    assert "Fri Aug 14 2026" not in text


def test_a_settings_capacity_of_zero_or_no_months_is_refused(finishlog: Run, demo: str) -> None:
    from finishlog import wiring
    from finishlog.desk.jobs import settings
    from finishlog.errors import InputError

    services = wiring.build(demo)
    for key, text in (("care_per_week", "0"), ("care_months", ",")):
        with pytest.raises(InputError):
            settings.change(services, {key: text})
    services.close()


def test_all_files_at_once_and_never_over_another(finishlog: Run, demo: str, tmp_path: Path) -> None:
    names = {"--ics": "r.ics", "--csv": "r.csv", "--letters": "r.pdf", "--mail": "drafts"}
    argv = [part for option, name in names.items() for part in (option, str(tmp_path / "out" / name))]
    (tmp_path / "out").mkdir()
    ran = finishlog("--log", demo, "care", "--by", "2026-12-31", *argv, "--json")
    assert ran.json()
    assert {path.name for path in (tmp_path / "out").iterdir()} == set(names.values())
    assert "customers have no e-mail" in ran.err
    before = {path: path.read_bytes() for path in (tmp_path / "out").rglob("*") if path.is_file()}
    for option, name in names.items():
        again = finishlog("--log", demo, "care", "--csv", str(tmp_path / "new.csv"), option,
                          str(tmp_path / "out" / name))  # fmt: skip
        assert again.status == 2
        assert not (tmp_path / "new.csv").exists()
    assert {path: path.read_bytes() for path in before} == before
    ics = ("--ics", str(tmp_path / "out" / "r.ics"), "--force")
    assert finishlog("--log", demo, "care", *ics).status == 0


def test_nobody_to_write_to_writes_nothing(finishlog: Run, demo: str, tmp_path: Path) -> None:
    ran = finishlog("--log", demo, "care", "--by", "2020-01-01", "--csv", str(tmp_path / "a.csv"), "--letters",
                    str(tmp_path / "a.pdf"))  # fmt: skip
    assert ran.status == 2
    assert "Nobody to write to" in ran.err
    assert not list(tmp_path.glob("a.*"))


def test_the_film_on_a_job_is_what_is_already_there(finishlog: Run, demo: str) -> None:
    row = by_job(finishlog("--log", demo, "care", "--json"))[JOB]
    film = ("--log", demo, "film", "--job", JOB, "--coverage", "300", "--json")
    answer = finishlog(*film).json()
    assert answer["existing_dry_mil"] == row["film_mil"]
    assert answer["total_dry_mil"] == pytest.approx(
        row["film_mil"] + answer["coats"][0]["dry_mil"], abs=0.001
    )
    assert answer["area_ft2"] > 0
    assert finishlog(*film, "--area", "100").json()["area_ft2"] == 100
    for wrong in (("--existing", "2"), ("--part", "porch")):
        assert finishlog(*film, *wrong).status == 2
    assert finishlog("film", "--area", "100", "--part", "field").status == 2


def test_a_second_calendar_has_the_same_names_and_takes_out_what_was_declined(
    finishlog: Run, demo: str, tmp_path: Path
) -> None:
    def events(name: str) -> dict[str, icalendar.Event]:
        assert finishlog("--log", demo, "care", "--ics", str(tmp_path / name)).status == 0
        read = icalendar.Calendar.from_ical((tmp_path / name).read_bytes())
        return {str(event["UID"]): event for event in read.walk("VEVENT")}

    first = events("first.ics")
    assert len(first) > 9
    finishlog("--log", demo, "care", JOB, "declined")
    second = events("second.ics")
    assert second.keys() == first.keys()
    [changed] = [uid for uid, event in second.items() if event["SEQUENCE"] != first[uid]["SEQUENCE"]]
    assert second[changed]["SEQUENCE"] > first[changed]["SEQUENCE"]
    assert (first[changed]["STATUS"], second[changed]["STATUS"]) == ("TENTATIVE", "CANCELLED")
    finishlog("--log", demo, "undo", JOB)
    third = events("third.ics")
    assert (third[changed]["STATUS"], third[changed]["SEQUENCE"] > second[changed]["SEQUENCE"]) == (
        "TENTATIVE",
        True,
    )


def test_the_sender_is_asked_for_in_one_line_and_set_by_the_command_it_names(
    finishlog: Run, demo: str, tmp_path: Path
) -> None:
    run = ("--log", demo)
    assert finishlog(*run, "shop", "--name", "", "--street", "", "--json").json()["shop_name"] == ""
    letters = ("--by", "2026-12-31", "--letters")
    ran = finishlog(*run, "care", *letters, str(tmp_path / "a.pdf"))
    assert (ran.status, ran.out, len(ran.err.splitlines())) == (2, "", 1)
    assert 'finishlog shop --name "Teakettle Slabs" --street' in ran.err
    assert not list(tmp_path.glob("a.*"))
    assert "--email: “shop” is not an e-mail address" in finishlog(*run, "shop", "--email", "shop").err
    told = finishlog(*run, "shop", "--name", "Teakettle Slabs", "--street", "1 Kiln Yard")
    assert "Teakettle Slabs" in told.out
    ran = finishlog(*run, "care", *letters, str(tmp_path / "a.pdf"))
    assert (ran.status, ran.err.count("letters in")) == (0, 1)
    assert "Written to 5 of the 6 on the list. Left out: 1 contacted, not booked yet." in ran.err
    again = finishlog(*run, "care", *letters, str(tmp_path / "b.pdf"))
    assert again.status == 2
    assert "5 already written to" in again.err
    assert finishlog(*run, "care", *letters, str(tmp_path / "b.pdf"), "--again").status == 0
    row = by_job(finishlog(*run, "care", "--json"))[JOB]
    assert (row["state"], row["written_on"], row["written_how"]) == ("written", "2026-06-16", "letter")
    assert finishlog(*run, "care", JOB, "bounced", "--note", "moved away").status == 0
    row = by_job(finishlog(*run, "care", "--json"))[JOB]
    assert (row["state"], row["bounced"]) == ("due", True)
    assert "came back" in finishlog(*run, "care", JOB).out
    assert finishlog(*run, "care", JOB, "refused").status == 0
    assert by_job(finishlog(*run, "care", "--json"))[JOB]["state"] == "declined"
    assert finishlog(*run, "care", JOB, "written").status == 0


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("--again",), "Nobody to write to"),
        (("--thanks", "--ics", "x.ics"), "Nobody to write to"),
        (("--again", "--thanks", "--csv", "x.csv"), "--again, --thanks"),
        ((JOB, "contacted", "--again"), "by itself"),
        ((JOB, "bounced"), "Nothing was sent"),
    ],
)
def test_wrong_wishes_are_one_line(finishlog: Run, demo: str, argv: tuple[str, ...], words: str) -> None:
    ran = finishlog("--log", demo, "care", *argv)
    assert (ran.status, ran.out, len(ran.err.splitlines())) == (2, "", 1)
    assert words in ran.err


def test_a_part_of_the_book_says_where_it_is(finishlog: Run, demo: str) -> None:
    every = finishlog("--log", demo, "care", "--json").json()
    assert len(every) > 3
    part = finishlog("--log", demo, "care", "--limit", "2", "--from", "2")
    assert f"Rows 2 to 3 of {len(every)}. More: --from 4." in part.out
    assert finishlog("--log", demo, "care", "--limit", "2", "--from", "2", "--json").json() == every[1:3]
    last = finishlog("--log", demo, "care", "--from", str(len(every))).out
    assert f"Rows {len(every)} to {len(every)} of {len(every)}." in last
    assert "More:" not in last
    assert "Rows" not in finishlog("--log", demo, "care").out
    assert f"{len(every)} rows in all." in finishlog("--log", demo, "care", "--from", "999").out


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("care", "--limit", "0"), "--limit: Give a whole number of rows above 0."),
        (("care", "--from", "two"), "--from: Give a whole number of rows above 0."),
        (("care", "--plan", "--limit", "3"), "--limit, --from: The plan is always shown whole."),
        (("care", JOB, "--limit", "3"), "by itself"),
        (("shelf", "buy", "Otter Back", "--limit", "3"), "--limit, --from: Only for the list."),
    ],
)
def test_a_part_of_no_list_is_refused(finishlog: Run, demo: str, argv: tuple[str, ...], words: str) -> None:
    ran = finishlog("--log", demo, *argv)
    assert ran.status == 2
    assert words in ran.err


def test_a_part_of_the_shelf_and_of_its_moves(finishlog: Run, demo: str) -> None:
    for what in ((), ("moves",)):
        every = finishlog("--log", demo, "shelf", *what, "--json").json()
        assert (
            finishlog("--log", demo, "shelf", *what, "--limit", "2", "--from", "2", "--json").json()
            == every[1:3]
        )
        assert f"Rows 1 to 2 of {len(every)}." in finishlog("--log", demo, "shelf", *what, "--limit", "2").out
