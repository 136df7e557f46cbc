"""A plan kept as a planned job: its area, recipe and stages, without the lots of the old one."""

from __future__ import annotations

from collections.abc import Iterator

from finishlog.desk.plan import stages
from finishlog.records.log import Area, Stage, StageMaterial
from finishlog.records.plan import PigmentPlan, Plan, ReleasePlan
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewJob,
    NewProduct,
    NewRecipe,
    NewSite,
    NewStage,
    NewStageMaterial,
)


def planned(plan: Plan, name: str) -> NewJob:
    """The planned job of a plan, whose recipe points to its reference."""
    old = plan.reference_job
    return NewJob(
        name=name,
        customer=NewCustomer(old.customer.name, old.customer.phone, old.customer.email),
        site=NewSite(old.site.street, old.site.town, old.site.zone, old.site.exposure),
        state="planned",
        planned_on=plan.on,
        reference=old.handle,
        areas=(planned_area(plan, name),),
    )


def planned_area(plan: Plan, name: str) -> NewArea:
    """The new area as its job has it: measures, shapes and recipe."""
    old: Area = plan.reference.area
    takeoff = plan.concrete.take_off
    held = stages.kept_stages(plan.reference_job, plan.reference)
    recipe = NewRecipe(
        name,
        tuple(_new_stages(held, plan.pigment, plan.release)),
        old.recipe.uid if old.recipe else None,
    )
    return NewArea(
        name=old.name,
        kind=old.kind,
        exposure=old.exposure,
        area_ft2=float(takeoff.area_ft2),
        depth_in=float(takeoff.depth_in),
        edge_yd3=float(takeoff.edges_yd3),
        recipe=recipe,
        shapes=plan.request.shapes,
    )


def _new_stages(
    old: tuple[Stage, ...], pigment: PigmentPlan | None, powder: ReleasePlan | None
) -> Iterator[NewStage]:
    """The reference's stages again for the planned job, with the plan's dose and release rate in them."""
    if pigment is not None and not any(stage.kind == "integral_color" for stage in old):
        yield NewStage("integral_color", {}, _pigments(pigment))
    for stage in old:
        if stage.kind == "integral_color" and pigment is not None:
            yield NewStage(stage.kind, dict(stage.params), _pigments(pigment))
        else:
            materials = tuple(
                _again(m, powder if stage.kind == "powder_release" else None) for m in stage.materials
            )
            yield NewStage(stage.kind, dict(stage.params), materials)


def _pigments(pigment: PigmentPlan) -> tuple[NewStageMaterial, ...]:
    return tuple(
        NewStageMaterial(NewProduct(p.name, "pigment", p.maker), None, float(p.dose_lb_per_yd3), "lb/yd3")
        for p in pigment.parts
    )


def _again(material: StageMaterial, powder: ReleasePlan | None) -> NewStageMaterial:
    """A planned product without its lot: which lot it will be is not known yet."""
    product = NewProduct(material.product.name, material.product.kind, material.product.maker)
    if powder is None:
        return NewStageMaterial(product, None, material.rate, material.unit)
    return NewStageMaterial(product, None, float(powder.lb_per_100_ft2), "lb/100 ft2")
