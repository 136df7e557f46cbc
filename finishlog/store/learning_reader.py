"""Queries about readings to learn from, and about what was learned."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from finishlog.store.shop_reader import ShopReader, whole

if TYPE_CHECKING:
    from finishlog.records.answers import Checkpoint, KeptLearned, LearningRow, MadeRow, Moment, Since


class LearningReader(ShopReader):
    """What the log has read, of which jobs, made of what; and what was learned of it."""

    def learning_rows(self, until: int | None = None) -> tuple[LearningRow, ...]:
        """The readings that teach the shop: of the jobs read last, oldest first; `until` up to that entry."""
        from finishlog.store.reading import learning

        with whole():
            return learning.rows(self._connection, learning.read_last(self._connection, until), until)

    def learning_rows_of(self, *handles: str, until: int | None = None) -> tuple[LearningRow, ...]:
        """The readings of these jobs, oldest first; `until` those logged up to that entry."""
        from finishlog.store.reading import learning
        from finishlog.store.search import moments

        with whole():
            return learning.rows(self._connection, moments.ids(self._connection, handles), until)

    def families(self, *handles: str) -> dict[str, str]:
        """By area's uid, of these jobs, the uid of the recipe that its family of versions starts from."""
        from finishlog.store.reading import learning
        from finishlog.store.search import moments

        return learning.families(self._connection, moments.ids(self._connection, handles))

    def family_jobs(self, uid: str) -> tuple[str, ...]:
        """The newest jobs of a family of recipes, and of those joined with it."""
        from finishlog.store.reading import learning
        from finishlog.store.search import moments

        return tuple(moments.handles(self._connection, learning.of_family(self._connection, uid)))

    def joined(self) -> dict[str, str]:
        """What stands for each family of recipes that was joined with others, by the family's own uid."""
        from finishlog.store.reading import learning

        return learning.joined(self._connection)

    def joined_to(self, uid: str) -> tuple[str, ...]:
        """Handles of the jobs whose recipe was joined to this one."""
        from finishlog.store.reading import learning

        return learning.joined_jobs(self._connection, uid)

    def sample_rows(self) -> tuple[LearningRow, ...]:
        """The readings of kept samples, oldest first."""
        from finishlog.store.reading import learning

        with whole():
            found = learning.rows(self._connection, learning.on_samples(self._connection))
            return tuple(row for row in found if row.reading.sample is not None)

    def made_rows(self, *handles: str, until: int | None = None) -> tuple[MadeRow, ...]:
        """Ingredients of the loads of these jobs, or of the jobs read last (`until` an entry), in time order."""
        from finishlog.store.reading import learning, made_with
        from finishlog.store.search import moments

        with whole():
            some = (
                moments.ids(self._connection, handles)
                if handles
                else learning.read_last(self._connection, until)
            )
            return made_with.rows(self._connection, some)

    def readings_mark(self) -> str:
        """A token that changes whenever `learning_rows` may."""
        from finishlog.store.reading import learning

        return learning.mark(self._connection)

    # what was learned, and whether it still holds

    def kept_learned(self, spot: str, part: str) -> KeptLearned | None:
        """A part of what was learned; None where there is none, or a damaged one."""
        from finishlog.store.search import learned

        return learned.kept(self._connection, spot, part)

    def moment(self) -> Moment:
        """How far the log is written."""
        from finishlog.store.search import moments

        return moments.moment(self._connection)

    def readings_count(self) -> int:
        """How many readings were ever logged."""
        from finishlog.store.search import moments

        return moments.count(self._connection)

    def checkpoint(self, count: int) -> Checkpoint:
        """The last rung of the ladder of readings, of which there are `count`."""
        from finishlog.store.search import moments

        return moments.checkpoint(self._connection, count)

    def since(self, entry: int) -> Since:
        """What was logged after an entry."""
        from finishlog.store.search import moments

        return moments.since(self._connection, entry)

    def area_marks(self, handles: Collection[str]) -> dict[str, str]:
        """A token of each job's areas and their recipes."""
        from finishlog.store.search import moments

        return moments.areas(self._connection, handles)

    def later_readings(self, handles: Collection[str], entry: int) -> set[tuple[str, int]]:
        """Job and number of the readings of these jobs that were logged after an entry."""
        from finishlog.store.search import moments

        return moments.later(self._connection, handles, entry)

    def stock_mark(self) -> str:
        """A token of all that loads name."""
        from finishlog.store.search import moments

        return moments.stock(self._connection)

    def sealers_mark(self) -> str:
        """A token of what the labels of sealers say."""
        from finishlog.store.search import moments

        return moments.sealers(self._connection)
