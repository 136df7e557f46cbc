"""`recipes`: finishes written down as several recipes; joined, they tell of each other's color."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import say, say_json

if TYPE_CHECKING:
    from finishlog.desk.services import Services

_MORE = """\
What could be joined, and what is; then all that is offered, the second group
alone, or one taken back:
  finishlog recipes
  finishlog recipes --join --by Ottoline
  finishlog recipes --join 2 --by Ottoline
  finishlog recipes --part hill-patio
The jobs logged last are looked at, or all:
  finishlog recipes --all
"""


def register(commands: Any) -> None:
    """Add `recipes` to the commands."""
    recipes = commands.add_parser(
        "recipes",
        help="join recipes that are one finish, for the color forecast",
        description="Finishes written down as several recipes: same base shades, dose within the shop's tolerance, "
        "cement and release. Joined, their readings count as one recipe's in forecasts and odds; plans and sheets "
        "stay as they are.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    what = recipes.add_mutually_exclusive_group()
    what.add_argument("--join", nargs="*", metavar="N", help="join these groups; without a number, all")
    what.add_argument("--part", metavar="JOB", help="take back what joined this job's recipes to others")
    recipes.add_argument("--all", action="store_true", help="look at all jobs, not only those logged last")
    recipes.add_argument("--by", metavar="WHO", help="who says so")
    recipes.add_argument("--json", action="store_true", help="answer as one JSON object")
    recipes.set_defaults(run=run_recipes)


def run_recipes(args: argparse.Namespace, services: Services) -> int:
    """`recipes`: list, join or part."""
    from finishlog.cli.options import number_of
    from finishlog.desk.color import recipe_words, recipes
    from finishlog.units import count

    newest = None if args.all else recipes.NEWEST
    done: list[str] = []
    if args.join is not None:
        wanted = [
            number for text in args.join if (number := number_of(text, "--join", "group", "2")) is not None
        ]
        joined = recipes.join(services, wanted, args.by, newest)
        done = [f"Joined {recipes.sentence(group)}" for group in joined] or ["Nothing to join."]
    elif args.part is not None:
        parted = recipes.part(services, args.part, args.by)
        done = [f"Parted: {count(parted, 'recipe')} {'stands' if parted == 1 else 'stand'} alone again."]
    found = recipes.groups(services, newest)
    if args.json:
        groups = [recipe_words.as_json(group) for group in found.groups]
        say_json({"done": done, "groups": groups, "only_newest_jobs": found.newest})
        return 0
    for line in done:
        say(line)
    if not done:
        say("\n".join(recipe_words.lines(found)))
    return 0
