"""Recipes: created, changed by a new version with a reason, copied. A recipe itself is never edited."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.writing import NewRecipe, NewStage
from finishlog.store.engine.protocol import put
from finishlog.store.entering.details import area_of
from finishlog.store.entering.finding import Finder
from finishlog.store.schema import typed
from finishlog.store.schema.fold import key
from finishlog.store.schema.kinds import version_of
from finishlog.store.schema.rows import Found, table
from finishlog.store.schema.tables import AreaRow, RecipeRow, StageMaterialRow, StageRow


class Recipes:
    """Writes recipes within one transaction."""

    def __init__(self, connection: Connection, find: Finder, new_uid: Callable[[], str]) -> None:
        self._connection = connection
        self._find = find
        self._new_uid = new_uid

    def id_of(self, uid: str) -> int:
        """The id of a recipe. Raises InputError."""
        found = self._connection.scalar(select(RecipeRow.id).where(RecipeRow.uid == uid))
        if found is None:
            raise InputError(f"No recipe {uid}.", where="recipe")
        return found

    def add(self, new: NewRecipe, *, origin: int | None = None, version: int = 1) -> int:
        """Add a recipe derived from `origin` (else from the one `new` names)."""
        if origin is None and new.from_recipe is not None:
            origin = self.id_of(new.from_recipe)
        recipe = self._head(new.name, origin, version, typed.note(new.reason, "reason"))
        for position, stage in enumerate(new.stages, 1):
            self._stage(recipe, position, stage)
        return recipe

    def _head(self, text: str, origin: int | None, version: int, reason: str | None) -> int:
        name = typed.name(text, "recipe's name")
        return self._put(
            RecipeRow,
            uid=self._new_uid(),
            version=version,
            name=name,
            name_key=key(name),
            from_id=origin,
            reason=reason,
        )

    def _put(self, row: Any, **values: Any) -> int:
        return put(self._connection, row, **values)

    def _stage(self, recipe: int, position: int, new: NewStage) -> None:
        stage = self._put(
            StageRow,
            recipe_id=recipe,
            position=position,
            kind=typed.name(new.kind, "kind of stage"),
            params=typed.facts(new.params),
            params_version=version_of(new.kind),
        )
        for place, material in enumerate(new.materials, 1):
            product = self._find.product(material.product)
            self._put(
                StageMaterialRow,
                stage_id=stage,
                position=place,
                product_id=product,
                lot_id=self._find.lot(product, material.lot),
                rate=material.rate,
                unit=material.unit,
            )

    # areas and the recipe they have now

    def area(self, job: int, name: str) -> Found:
        """An area of a job (id, name, recipe_id and the recipe's version, 0 without one). Raises InputError."""
        query = select(AreaRow.id, AreaRow.uid, AreaRow.name_key).where(AreaRow.job_id == job)
        rows = self._connection.execute(query.order_by(AreaRow.position)).all()
        area = area_of({row.uid: row.id for row in rows} | {row.name_key: row.id for row in rows}, name)
        held = (
            select(AreaRow.id, AreaRow.name, AreaRow.recipe_id, RecipeRow.version, RecipeRow.frozen)
            .outerjoin(RecipeRow, RecipeRow.id == AreaRow.recipe_id)
            .where(AreaRow.id == area)
        )
        return self._connection.execute(held).one()

    def unchanged(self, area: Found, version: int) -> None:
        """Raises InputError if the area's recipe is no longer the version read (0: it had none)."""
        now = area.version or 0
        if now != version:
            raise InputError(
                f"Someone else changed the recipe of {area.name} meanwhile.",
                f"You read version {version}; it is now version {now}. Read the job again first.",
                where="version",
                example=str(now),
            )

    def change(self, area: Found, new: NewRecipe) -> int:
        """Set the area's next recipe, leaving the old one as is. Returns the new id."""
        recipe = self.add(new, origin=area.recipe_id, version=(area.version or 0) + 1)
        self._give(area, recipe)
        return recipe

    def copy(self, source: Found, area: Found, reason: str | None) -> int:
        """Copy the source's recipe to the area as is, stage by stage. Returns its id."""
        if source.recipe_id is None:
            raise InputError(
                f"{source.name} has no recipe to copy.", where="from", example="an area with a recipe"
            )
        name = self._connection.scalar(select(RecipeRow.name).where(RecipeRow.id == source.recipe_id)) or ""
        version = (area.version or 0) + 1
        recipe = self._head(name, source.recipe_id, version, typed.note(reason, "reason"))
        stages = table(StageRow)
        for stage in self._connection.execute(select(stages).where(stages.c.recipe_id == source.recipe_id)):
            self._copy_stage(stage, recipe)
        self._give(area, recipe)
        return recipe

    def _copy_stage(self, stage: Found, recipe: int) -> None:
        """Keeps the parameters' version, so that they read like the original's."""
        again = self._put(StageRow, **_without_id(stage, recipe_id=recipe))
        materials = table(StageMaterialRow)
        rows = self._connection.execute(select(materials).where(materials.c.stage_id == stage.id)).all()
        if rows:
            values = [{**row._mapping, "stage_id": again} for row in rows]
            self._connection.execute(insert(materials), values)

    def _give(self, area: Found, recipe: int) -> None:
        change = update(AreaRow).where(AreaRow.id == area.id)
        self._connection.execute(change.values(recipe_id=recipe, version=AreaRow.version + 1))


def _without_id(row: Found, **values: Any) -> dict[str, Any]:
    return {name: value for name, value in row._mapping.items() if name != "id"} | values
