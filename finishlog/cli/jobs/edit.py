"""`job`: a new job, and what may be edited on one. What happened is only corrected: see `record --replaces`."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import say, say_json
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.jobs.edit import Edited
    from finishlog.desk.services import Services

_EXAMPLES = """\
  finishlog job new --customer "Ottoline Quillfeather" --job "back patio" \\
      --areas "field 24x18 4in, steps"
  finishlog job area hill-patio "border 76 ft2 4 in"
  finishlog job bury hill-patio "gas line, 18 in, along the fence"
  finishlog job change hill-patio --set integral_color.rate="7 lb/yd3" \\
      --reason "she chose darker"
  finishlog job copy-recipe old-patio hill-patio
  finishlog job owner hill-patio "Barnaby Crumpet" --since 2026-05-01
  finishlog job customer "Ottoline Quillfeather" --email o@example.com --leave-alone
  finishlog job merge "O. Quillfeather" "Ottoline Quillfeather"
  finishlog job archive hill-patio
"""


def register(commands: Any) -> None:
    """Add `job` and what it does to the commands."""
    job = commands.add_parser(
        "job",
        help="start a job; its areas, recipe, owner; archive it",
        description="Make a job and edit its details. Entries are never edited: correct one with\n"
        "record --replaces. Nothing is deleted: archive takes a job off the list.",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    actions = job.add_subparsers(dest="action", metavar="ACTION", required=True)
    _add_new(actions)
    _add_parts(actions)
    _add_recipes(actions)
    _add_people(actions)


def _command(actions: Any, name: str, help: str, run: Any) -> Any:
    command = actions.add_parser(name, help=help, description=help[:1].upper() + help[1:] + ".")
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run)
    return command


def _job(command: Any) -> None:
    command.add_argument("job", metavar="JOB", help="the job's handle, or the start of it")


def _add_new(actions: Any) -> None:
    new = _command(actions, "new", "make a job; customer or job is needed; blank means unknown", run_new)
    for option, metavar, text in (
        ("customer", "NAME", "who it is for"), ("phone", "NUMBER", "the customer's phone"),
        ("email", "ADDRESS", "the customer's e-mail"), ("street", "STREET", "the site"), ("town", "TOWN", "its town"),
        ("exposure", "WORD", "sun, part shade, shade or covered"), ("job", "NAME", "the job name"),
        ("areas", "AREAS", '"field 24x18 4in, border 76 ft2"; default: field'),
        ("planned-on", "DATE", "the day it is planned for"), ("poured-on", "DATE", "or the day it was poured"),
        ("buried", "WHAT", '"gas line, 18 in, along the fence"'), ("note", "TEXT", "anything else"),
        ("handle", "HANDLE", "its short name on the command line"),
    ):  # fmt: skip
        new.add_argument(f"--{option}", metavar=metavar, help=text)


def _add_parts(actions: Any) -> None:
    area = _command(actions, "area", "add an area", run_area)
    _job(area)
    area.add_argument("area", metavar="AREA", help='name, size, depth: "border 76 ft2 4 in"')
    bury = _command(actions, "bury", "note what's buried at its site", run_bury)
    _job(bury)
    bury.add_argument("what", metavar="WHAT", help='"gas line, 18 in, along the fence"')
    text = _command(actions, "note", "replace the job's note", run_note)
    _job(text)
    text.add_argument("text", metavar="TEXT", help='the note; "" removes it')
    for name, run in (("archive", run_archive), ("unarchive", run_unarchive)):
        help = "off the list; nothing is lost" if name == "archive" else "back on the list"
        _job(_command(actions, name, help, run))


def _add_recipes(actions: Any) -> None:
    change = _command(
        actions, "change", "a change order: the recipe's next version, with a reason", run_change
    )
    _job(change)
    change.add_argument("--area", metavar="NAME", help="which area's recipe; default: the field")
    change.add_argument("--set", metavar="STAGE.FACT=VALUE", action="append", default=[],
                        help="a fact, .product, .maker, .lot or .rate of a stage; repeat")  # fmt: skip
    change.add_argument(
        "--drop", metavar="STAGE", action="append", default=[], help="leave a stage out; repeat"
    )
    change.add_argument("--name", help="the recipe's new name")
    change.add_argument("--reason", metavar="TEXT", required=True, help="why; kept with the job")
    change.add_argument("--by", metavar="WHO", help="who changed it")
    change.add_argument(
        "--recipe-version", metavar="N", help="refuse unless the recipe is still at this version"
    )
    copy = _command(actions, "copy-recipe", "give a job the recipe of another", run_copy)
    copy.add_argument("source", metavar="FROM", help="the job that has it")
    _job(copy)
    copy.add_argument("--from-area", metavar="NAME", help="default: the field")
    copy.add_argument("--area", metavar="NAME", help="default: the field")
    copy.add_argument("--reason", metavar="TEXT", help="needed if the old recipe was already poured")


def _add_people(actions: Any) -> None:
    owner = _command(actions, "owner", "a new owner of the site", run_owner)
    _job(owner)
    owner.add_argument("owner", metavar="NAME", help="the new owner")
    owner.add_argument("--since", metavar="DATE", default="", help="from when; default: today")
    owner.add_argument("--phone", default="")
    owner.add_argument("--email", default="")
    owner.add_argument("--note", metavar="TEXT", default="")
    customer = _command(actions, "customer", "phone, e-mail, note; no reminders", run_customer)
    customer.add_argument("customer", metavar="CUSTOMER", help="a name, or a job of theirs")
    for option in ("phone", "email", "note"):
        customer.add_argument(f"--{option}", metavar="TEXT", help='"" removes it')
    wants = customer.add_mutually_exclusive_group()
    for option, said, text in (
        ("leave-alone", "yes", "wants no reminders"),
        ("remind", "no", "reminders are fine"),
    ):
        wants.add_argument(f"--{option}", dest="leave_alone", action="store_const", const=said, help=text)
    merge = _command(actions, "merge", "two entries of one customer become one", run_merge)
    merge.add_argument("double", metavar="DOUBLE", help="the one to drop: its name, or one of its jobs")
    merge.add_argument("keep", metavar="KEEP", help="the one to keep")


def run_new(args: argparse.Namespace, services: Services) -> int:
    """`job new`: a new job."""
    from finishlog.desk.jobs import edit
    from finishlog.inputs.jobs import FIELDS

    texts = {f.key: getattr(args, f.key) for f in FIELDS if getattr(args, f.key) is not None}
    return _tell(edit.new_job(services, texts), args.json)


def run_area(args: argparse.Namespace, services: Services) -> int:
    """`job area`: one more area."""
    from finishlog.desk.jobs import edit

    return _tell(edit.add_area(services, args.job, args.area), args.json)


def run_bury(args: argparse.Namespace, services: Services) -> int:
    """`job bury`: what lies under the slab."""
    from finishlog.desk.jobs import edit

    return _tell(edit.bury(services, args.job, args.what), args.json)


def run_note(args: argparse.Namespace, services: Services) -> int:
    """`job note`: the job's own note."""
    from finishlog.desk.jobs import edit

    return _tell(edit.set_note(services, args.job, args.text), args.json)


def run_archive(args: argparse.Namespace, services: Services) -> int:
    """`job archive`: off the list, not out of the log."""
    from finishlog.desk.jobs import edit

    return _tell(edit.archive(services, args.job), args.json)


def run_unarchive(args: argparse.Namespace, services: Services) -> int:
    """`job unarchive`: back on the list."""
    from finishlog.desk.jobs import edit

    return _tell(edit.unarchive(services, args.job), args.json)


def run_change(args: argparse.Namespace, services: Services) -> int:
    """`job change`: a new version of a recipe, with its reason."""
    from finishlog.desk.jobs import edit
    from finishlog.units import read_count

    version = None if args.recipe_version is None else read_count(args.recipe_version, positive=False)
    recipe = edit.change_order(
        services, args.job, args.area, _pairs(args.set), reason=args.reason, name=args.name,
        drop=tuple(args.drop), version=version, person=args.by,
    )  # fmt: skip
    return _tell_all(recipe, f"{recipe.name} is now version {recipe.version}: {args.reason}.", args.json)


def run_copy(args: argparse.Namespace, services: Services) -> int:
    """`job copy`: another job's recipe for this one."""
    from finishlog.desk.jobs import edit

    recipe = edit.copy_recipe(
        services, args.source, args.job, from_area=args.from_area, to_area=args.area, reason=args.reason
    )
    return _tell_all(recipe, f"{args.job} now has its own copy of recipe {recipe.name}.", args.json)


def run_owner(args: argparse.Namespace, services: Services) -> int:
    """`job owner`: the site has a new owner."""
    from finishlog.desk.jobs import edit

    owner = edit.new_owner(
        services, args.job, args.owner, args.since, phone=args.phone, email=args.email, note=args.note
    )
    return _tell_all(
        owner, f"The site is {owner.customer.name}'s since {owner.since.isoformat()}.", args.json
    )


def run_customer(args: argparse.Namespace, services: Services) -> int:
    """`job customer`: how to reach a customer."""
    from finishlog.desk.jobs import edit

    given = {key: getattr(args, key) for key in ("phone", "email", "note", "leave_alone")}
    kept = edit.customer(
        services, args.customer, {key: text for key, text in given.items() if text is not None}
    )
    wants = "no reminders" if kept.leave_alone else "reminders when due"
    told = ", ".join(text for text in (kept.phone, kept.email) if text) or "no phone, no e-mail"
    return _tell_all(kept, f"{kept.name}: {told}; {wants}.", args.json)


def run_merge(args: argparse.Namespace, services: Services) -> int:
    """`job merge`: two names that are one customer."""
    from finishlog.desk.jobs import edit

    kept = edit.merge(services, args.keep, args.double)
    return _tell_all(kept, f"Merged {args.double} into {kept.name}.", args.json)


def _tell(done: Edited, as_json: bool) -> int:
    return _tell_all(done, f"{done.job}  {done.sentence}", as_json)


def _tell_all(answer: Any, sentence: str, as_json: bool) -> int:
    if as_json:
        say_json(answer)
    else:
        say(sentence)
    return 0


def _pairs(texts: list[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for text in texts:
        key, equals, value = text.partition("=")
        if not equals or key.strip() in found:
            what = "is given twice" if equals else "is not STAGE.FACT=VALUE"
            raise InputError(f"“{text[:40]}” {what}.", where="--set", example="--set stamp.pattern=ashlar")
        found[key.strip()] = value
    return found
