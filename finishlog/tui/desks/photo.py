"""Photos, rinse helper and blend, for the screens. Imported late, called from worker threads only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from finishlog.desk.blend.blend import BlendAnswer, BlendRequest
    from finishlog.desk.blend.samples import Samples
    from finishlog.desk.photo.beside import Told
    from finishlog.desk.photo.folder import Folder, Peek
    from finishlog.desk.photo.measured import Measured, Read
    from finishlog.desk.photo.photos import Added, PhotoLine, Progress
    from finishlog.desk.rinse.rinse import RinseAnswer, Spots
    from finishlog.desk.services import Services
    from finishlog.records.color import Lab

T = TypeVar("T")
SMALL = 512
"""Longer side of a thumbnail in pixels, as made on import."""
LOOKERS = 1
"""Photos decoded at a time: of two cores, one stays free for the screens."""
SPOTS = ("field", "rinsed", "unrinsed")
BETWEEN = "\0"
"""Joins photo paths in one text; no path can contain it."""


@dataclass(frozen=True, slots=True)
class RungLook:
    """A rung's base and release color in sRGB hex, now and at final color; empty if unknown."""

    base_now: str = ""
    release_now: str = ""
    base_settled: str = ""
    release_settled: str = ""


@dataclass(frozen=True, slots=True)
class RinseView:
    """The rinse answer, the spots it is based on, and how base and release color look."""

    answer: RinseAnswer
    spots: Spots | None
    look: RungLook


@dataclass(frozen=True, slots=True)
class BlendView:
    """A blend, with the wanted and the reached color (None if no blend) as sRGB hex and name.

    `compared` puts their difference in words; `ladder` is each rung's hex.
    """

    answer: BlendAnswer
    wanted: tuple[str, str]
    reached: tuple[str, str] | None
    compared: str = ""
    ladder: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PhotosView:
    """A job's photos, oldest first, and its area names."""

    lines: tuple[PhotoLine, ...]
    areas: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shot:
    """A photo in no log: display name, upright size in pixels, and a small JPEG."""

    path: str
    name: str
    width: int
    height: int
    small: bytes


class PhotoDesks:
    """Photo work on one log. Reads the texts, so InputError names the field."""

    _services: Services

    def photos(self, handle: str) -> PhotosView:
        """Oldest first, with the areas a photo may be filed under."""
        from finishlog.desk.photo import photos

        with self._services.log().reading() as log:
            areas = tuple(area.name for area in log.job(log.resolve(handle)).areas)
        return PhotosView(photos.of_job(self._services, handle), areas)

    def add_photos(
        self, handle: str, texts: Mapping[str, str], because: str | None, progress: Progress
    ) -> Added:
        """`path` may name several, split by BETWEEN. Raises InputError at the field, Doubt on what is odd."""
        from pathlib import Path

        from finishlog.desk.photo import photos

        facts = photos.PhotoFacts(**{key: text for key, text in texts.items() if key != "path"})
        named = texts["path"].split(BETWEEN)
        paths = [Path(each if len(named) > 1 else each.strip()).expanduser() for each in named]
        return photos.add(
            self._services, handle, paths, facts, because=because, progress=progress, lookers=LOOKERS
        )

    def photo_folder(self, path: str, last: str = "") -> Folder:
        """A folder's contents; without a name the last folder used, else the usual photo folder."""
        from pathlib import Path

        from finishlog.desk.photo import folder

        return folder.listing(Path(path) if path.strip() else folder.begin_at(last))

    def peek(self, path: str) -> Peek:
        """Date and thumbnail of any file; a damaged one answers why, and nothing is raised."""
        from pathlib import Path

        from finishlog.desk.photo import folder

        return folder.peek(Path(path))

    def picture(self, sha256: str, side: int = SMALL) -> bytes:
        """JPEG, at most `side` pixels long, cached on first use. Raises LogError if the photo is lost."""
        from finishlog.desk.photo import small

        return small.thumbnail(self._services, sha256, side).read_bytes()

    def measure(
        self, sha256: str, boxes: Sequence[str], corners: str, gray: str = "", chip: str = ""
    ) -> Measured:
        """As `measure_file`, for a photo in the log."""
        return self.measure_file(str(self._services.log().file_path(sha256)), boxes, corners, gray, chip)

    def open_photo(self, path: str) -> Shot:
        """Raises InputError if the file is no photo we read."""
        from pathlib import Path

        from finishlog.desk.photo import reading as photo_reading

        file = Path(path).expanduser()
        found = photo_reading.looked_at(file)
        return Shot(str(file), file.name, found.photo.width, found.photo.height, found.small)

    def measure_file(
        self, path: str, boxes: Sequence[str], corners: str, gray: str = "", chip: str = ""
    ) -> Measured:
        """Without `corners` the card is looked for; `gray`, `chip`: where those lie. Raises InputError."""
        from pathlib import Path

        from finishlog.desk.photo import reading as photo_reading
        from finishlog.inputs import boxes as places

        return photo_reading.of_file(
            self._services,
            Path(path),
            [places.read_box(box) for box in boxes],
            corners=places.read_corners(corners) if corners else None,
            gray=places.read_gray(gray) if gray else None,
            told=_told(chip),
        )

    def keep_readings(
        self, handle: str, entry: int, boxes: Sequence[str], corners: str, texts: Mapping[str, str],
        because: str | None, gray: str = "", chip: str = "",
    ) -> Read:  # fmt: skip
        """One reading per box. Raises InputError at the field, Doubt until `because` answers it."""
        from finishlog.desk.photo import reading as photo_reading
        from finishlog.desk.photo.photos import PhotoFacts
        from finishlog.inputs import boxes as places

        return photo_reading.read(
            self._services,
            handle,
            str(entry),
            [places.read_box(box) for box in boxes],
            corners=places.read_corners(corners) if corners else None,
            gray=places.read_gray(gray) if gray else None,
            facts=PhotoFacts(**texts),
            because=because,
            about=_told(chip),
        )

    def rinse(self, handle: str, texts: Mapping[str, str], measured: Measured | None = None) -> RinseView:
        """`texts`: field, rinsed, unrinsed (colors with ; between), dried (yes, no), target (percent)."""
        from finishlog.desk.rinse import rinse
        from finishlog.inputs.rinse import read_share

        dried = texts.get("dried", "").strip().casefold() in ("y", "yes")
        spots = rinse.of_photo(measured, dried=dried) if measured else rinse.of_texts(texts)
        answer = rinse.answer(self._services, handle, spots, target=_read(texts, "target", read_share))
        return RinseView(answer, spots, _look(answer, spots))

    def keep_rinse(self, view: RinseView) -> None:
        """Saves the advice as given with its job."""
        from finishlog.desk.rinse import rinse

        rinse.keep(self._services, view.answer, view.spots)

    def blend(self, texts: Mapping[str, str]) -> BlendView:
        """The view has no blend if no pigments reach the color. Raises InputError at the field."""
        from finishlog.color.notation.names import nearest_name
        from finishlog.color.notation.space import lab_to_hex
        from finishlog.color.notation.words import compare
        from finishlog.desk.blend import blend

        answer = blend.answer(self._services, _blend_request(texts))
        found, wanted = answer.found, (lab_to_hex(answer.target), nearest_name(answer.target))
        ladder = tuple(lab_to_hex(rung.lab) for rung in answer.ladder)
        if found is None:
            return BlendView(answer, wanted, None, "", ladder)
        reached = (lab_to_hex(found.lab), nearest_name(found.lab))
        return BlendView(answer, wanted, reached, compare(answer.target, found.lab), ladder)


def _told(chip: str) -> Told:
    from finishlog.desk.photo.beside import Told
    from finishlog.inputs.boxes import read_chip

    return Told(chips=(read_chip(chip),) if chip else ())


def _look(answer: RinseAnswer, spots: Spots | None) -> RungLook:
    """Base and release color: as read now, as computed at final color."""
    from finishlog.color.notation.space import lab_to_hex

    settled = answer.settled
    then = (lab_to_hex(settled.base.lab), lab_to_hex(settled.release.lab)) if settled else ("", "")
    now = (_hex_of_all(spots.rinsed), _hex_of_all(spots.unrinsed)) if spots else ("", "")
    return RungLook(*now, *then)


def _hex_of_all(labs: Sequence[Lab]) -> str:
    from statistics import fmean

    from finishlog.color.notation.space import lab_to_hex

    return lab_to_hex([fmean(axis) for axis in zip(*labs, strict=True)]) if labs else ""


def _blend_request(texts: Mapping[str, str]) -> BlendRequest:
    from fractions import Fraction

    from finishlog import units
    from finishlog.desk.blend.blend import BlendRequest
    from finishlog.inputs import blend as reading
    from finishlog.inputs.readers import read_name

    name, most = _read(texts, "most", reading.read_maximum) or (None, None)
    return BlendRequest(
        target=_read(texts, "target", reading.read_color) or (0.0, 0.0, 0.0),
        cement=_read(texts, "cement", read_name),
        pigments=_read(texts, "pigments", reading.read_pigments) or (),
        samples=_read(texts, "samples", _sheet),
        ladder=_read(texts, "ladder", _sheet),
        maximum_percent=None if name else most,
        maxima={name: most} if name and most is not None else {},
        cementitious_lb_per_yd3=_read(texts, "cementitious", units.read_content_lb_per_yd3),
        scm_lb_per_yd3=_read(texts, "scm", lambda text: units.read_content_lb_per_yd3(text, positive=False))
        or Fraction(0),
    )


def _sheet(path: str) -> Samples:
    from pathlib import Path

    from finishlog.desk.blend.samples import of_sheet

    return of_sheet(str(Path(path).expanduser()))


def _read(texts: Mapping[str, str], key: str, reader: Callable[[str], T]) -> T | None:
    """A field's value; None if blank. Raises InputError at the field."""
    from finishlog.errors import naming

    text = texts.get(key, "").strip()
    with naming(key):
        return reader(text) if text else None
