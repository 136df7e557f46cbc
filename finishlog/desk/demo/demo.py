"""The demo: four years of an invented shop, stored as data in seed_demo and replayed through the log's own API.

Days are relative to today, so that the demo is the same on every day.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, time, timedelta
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID
from zoneinfo import ZoneInfo

from finishlog.records.answers import DemoStart
from finishlog.records.files import Content, Photo
from finishlog.records.log import Approval, Coat, Exactness, Reading, Shape
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewFile,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSample,
    NewSite,
    NewStage,
    NewStageMaterial,
    NewStockMove,
)

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Log, Writer

NOON = time(12)
Data = Mapping[str, Any]


def start() -> DemoStart:
    """The job to begin with and the addition to plan."""
    shop = _read("shop.toml")
    return DemoStart(shop["reference"], shop["addition"]["rect"], shop["addition"]["depth"])


def new_log(services: Services, where: str) -> Log:
    """A demo log at a path that does not exist yet. Raises LogError."""
    from finishlog.store import Log

    return Log.create(
        where, clock=services.clock, new_uid=_uids(), fill=lambda log: make(log, services.today())
    )


def make(log: Log, today: date) -> None:
    """Play the demo into an empty log, in one transaction."""
    player = _Player(_read("shop.toml"), today)
    with log.writing() as writer:
        for key, value in player.shop["settings"].items():
            writer.set_setting(key, value)
        for job in _read("jobs.toml")["job"]:
            player.play(writer, job)
        for move in player.shop["shelf"]:
            writer.add_stock_move(player.move(move))
        given = _read("forecasts.toml")
        for told in given["forecast"]:
            writer.add_advice(told["job"], player.forecast(told))
        for told in given["promise"]:
            writer.add_advice(told["job"], player.promise(told))


def _uids() -> Callable[[], str]:
    """Names of things that are the same in every demo."""
    numbers = count(1)
    return lambda: UUID(int=next(numbers)).hex


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(_folder().joinpath(name).read_text(encoding="utf-8"))


def _folder() -> Traversable:
    """The data in the installed package, else in the checkout (an editable install has no copy)."""
    packed = files("finishlog") / "_seed_demo"
    return packed if packed.is_dir() else Path(__file__).parents[3] / "seed_demo"


class _Player:
    """Turns the data into what the log takes. A recipe is made by the first area that has it, then shared."""

    def __init__(self, shop: Data, today: date) -> None:
        self.shop = shop
        self.today = today
        self.zone = ZoneInfo(shop["zone"])
        self._recipes: dict[str, str] = {}
        self._photos: dict[str, str] = {}
        self._poured: dict[tuple[str, str], date] = {}

    def play(self, writer: Writer, data: Data) -> None:
        job = writer.add_job(self.job(data))
        for told, area in zip(data["area"], job.areas, strict=True):
            if area.recipe is not None:
                self._recipes.setdefault(told["recipe"], area.recipe.uid)
        for entry in data["entry"]:
            writer.add_entry(job.handle, self.entry(entry))
            if entry["kind"] == "pour":
                self._poured[job.handle, entry["area"]] = self.day(entry["ago"])

    def job(self, data: Data) -> NewJob:
        return NewJob(
            handle=data["handle"],
            name=data["name"],
            customer=NewCustomer(data["customer"], data.get("phone"), data.get("email")),
            site=NewSite(data["street"], data["town"], self.zone.key, data.get("exposure", "unknown")),
            state=data.get("state", "poured"),
            planned_on=self.day(data["planned_ago"]) if "planned_ago" in data else None,
            note=data.get("note"),
            reference=data.get("reference"),
            areas=self.areas(data["area"]),
            buried=tuple(NewBuried(**item) for item in data.get("buried", ())),
        )

    def areas(self, data: list[Data]) -> tuple[NewArea, ...]:
        return tuple(self.area(area) for area in data)

    def area(self, data: Data) -> NewArea:
        facts = {key: value for key, value in data.items() if key not in ("recipe", "shapes")}
        known = self._recipes.get(data.get("recipe", ""))
        recipe = self.recipe(data["recipe"]) if "recipe" in data and known is None else None
        shapes = tuple(_shape(text) for text in data.get("shapes", ()))
        return NewArea(**facts, recipe=recipe, recipe_uid=known, shapes=shapes)

    def recipe(self, key: str) -> NewRecipe:
        data = self.shop["recipe"][key]
        return NewRecipe(data["name"], tuple(self.stage(stage) for stage in data["stage"]))

    def stage(self, data: Data) -> NewStage:
        materials = (NewStageMaterial(**self.named(use)) for use in data.get("use", ()))
        return NewStage(data["kind"], data["params"], tuple(materials))

    def named(self, use: Data) -> dict[str, Any]:
        """A use of a product with the product itself in place of its key."""
        return {**use, "product": NewProduct(**self.shop["product"][use["product"]])}

    def entry(self, data: Data) -> NewEntry:
        exactness: Exactness = "about" if data.get("about") else "exact"
        return NewEntry(
            kind=data["kind"],
            happened=self.moment(data),
            exactness=exactness if "at" in data else "day",
            area=data.get("area"),
            person=data.get("by"),
            note=data.get("note"),
            facts=data.get("facts", {}),
            materials=tuple(NewMaterialUse(**self.named(use)) for use in data.get("use", ())),
            load=self.load(data["load"]) if "load" in data else None,
            coat=Coat(**data["coat"]) if "coat" in data else None,
            reading=self.reading(data["reading"]) if "reading" in data else None,
            sample=self.sample(data["sample"]) if "sample" in data else None,
            approval=Approval(**data["approval"]) if "approval" in data else None,
            files=(self.photo(data),) if "photo" in data else (),
        )

    def reading(self, data: Data) -> Reading:
        """A reading, with the SHA-256 of its photo in place of the photo's name."""
        told = {key: value for key, value in data.items() if key not in ("lab", "sd")}
        if "photo" in told:
            told["photo"] = self._photos[told["photo"]]
        return Reading(*data["lab"], *data.get("sd", ()), **told)

    def photo(self, data: Data) -> NewFile:
        """The picture that an entry tells of, drawn."""
        from finishlog.desk.demo import photos

        told, taken = data["photo"], self.moment(data).astimezone(self.zone)
        drawn = photos.jpeg(told["base"], told["release"], told["left"], self.shop["card"]["srgb"], taken)
        content = Content(drawn, hashlib.sha256(drawn).hexdigest())
        self._photos[told["name"]] = content.sha256
        zone = f"{taken:%z}"
        kept = Photo("JPEG", photos.WIDTH, photos.HEIGHT, f"{taken:%Y-%m-%dT%H:%M:%S}",
                     f"{zone[:3]}:{zone[3:]}", "camera offset")  # fmt: skip
        return NewFile(Path(told["name"]), told["name"], "image/jpeg", kept, content)

    def move(self, data: Data) -> NewStockMove:
        """What was bought, counted or opened for the shelf."""
        told = {key: value for key, value in self.named(data).items() if key not in ("ago", "at")}
        return NewStockMove(**told, happened=self.moment(data))

    def sample(self, data: Data) -> NewSample:
        doses = (self.named(dose) for dose in data.get("doses", ()))
        return NewSample(**{**data, "doses": tuple((dose["product"], dose["percent"]) for dose in doses)})

    def forecast(self, data: Data) -> NewAdvice:
        """A forecast as it was given then, in the keys of the color desk."""
        poured = self._poured[data["job"], data["area"]]
        points = [
            {"age_days": age, "on": (poured + timedelta(days=age)).isoformat(), "lab": lab, "lab_sd": sd,
             "radius90_de00": radius}
            for age, lab, sd, radius in ((p[0], p[1:4], p[4:7], p[7]) for p in data["points"])
        ]  # fmt: skip
        answer = {"area": data["area"], "sample": None, "spot": "base", "forecast": points,
                  "history_jobs": data["history_jobs"], "recipe_jobs": data["recipe_jobs"]}  # fmt: skip
        inputs = {"area": data["area"], "readings_until": self.moment(data).isoformat()}
        return NewAdvice(
            "forecast", data["method"], json.dumps(inputs), json.dumps(answer), self.moment(data)
        )

    def promise(self, data: Data) -> NewAdvice:
        """The odds of a plan as they were given then, in the keys of `match --json`."""
        shapes = [{"sign": 1, "kind": "rect", "dimensions": data["shape"]}]
        inputs = {"reference": data["reference"], "shapes": shapes, "depth": data["depth"]}
        odds = {key: data[key] for key in ("probability", "threshold_de00")}
        answer = {"odds": odds, "gate": {"state": data["gate"], "why": data["why"], "pairs": data["pairs"]}}
        return NewAdvice("plan", data["method"], json.dumps(inputs), json.dumps(answer), self.moment(data))

    def load(self, data: Data) -> NewLoad:
        mix = NewMix(**self.shop["mix"][data["mix"]]) if "mix" in data else None
        areas = tuple((name, None) for name in data.get("areas", ()))
        return NewLoad(**{**data, "mix": mix, "areas": areas})

    def day(self, ago: int) -> date:
        return self.today - timedelta(days=ago)

    def moment(self, data: Data) -> datetime:
        """The hour at the site; noon stands for a day of which no hour was written down."""
        at = time.fromisoformat(data["at"]) if "at" in data else NOON
        return datetime.combine(self.day(data["ago"]), at, self.zone).astimezone(UTC)


def _shape(text: str) -> Shape:
    """`rect 24x18`, or `-rect 3x3` for a cut-out."""
    kind, dimensions = text.removeprefix("-").split(" ", 1)
    return Shape(-1 if text.startswith("-") else 1, kind, dimensions)
