"""Products as they are entered: a piece of one dough, proofed and baked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import (
    BeforeValidator,
    Field,
    ValidationInfo,
    field_validator,
    model_validator,
)

from api.schemas.base import Faults, Named, Number, Whole, every
from api.schemas.house import House, the_only
from api.schemas.ripening import RipeningInput
from api.schemas.units import wrong
from planner import product as core
from planner import ripening as ripe
from planner.estimate import Estimate


def _listed(value: object) -> object:
    """Return a single way to proof as a list of one."""
    return [value] if isinstance(value, Mapping | RipeningInput) else value


class ProductInput(Named):
    """What is sold."""

    proof: Annotated[
        list[RipeningInput],
        BeforeValidator(_listed),
        Field(
            description="The proof, or several ways to choose from, the usual one first.",
            examples=[[{"minutes": 60, "room_c": 26}]],
        ),
    ]
    bake_min: Annotated[
        Whole,
        Field(description="Minutes in the oven, or of a piece on the belt [min].", examples=[35]),
    ]
    pieces_per_place: Annotated[
        Whole,
        Field(description="Pieces on one deck or rack of the oven.", examples=[24]),
    ]
    sold_kg: Annotated[
        Number | None,
        Field(
            description="Instead of the piece: weight of a baked piece [kg]. Its dough then follows"
            " from `bake_loss_fraction`, or from `bake_extra_kg` when that is given.",
            examples=[0.75],
        ),
    ] = None
    piece_kg: Annotated[
        Number | None,
        Field(
            description="Weight of a piece of dough [kg]; give this or `sold_kg`.",
            examples=[0.85],
            validate_default=True,
        ),
    ] = None
    bake_extra_kg: Annotated[
        Number | None,
        Field(
            description="Dough beyond the baked weight of one piece [kg], in place of a share.",
            examples=[0.06],
        ),
    ] = None
    formula: Annotated[
        str | None,
        Field(description="Its dough; the only formula when left out.", examples=["white tin"]),
    ] = None
    ovens: Annotated[
        list[str],
        Field(
            description="Ovens it may be baked in; the only oven when left out.",
            examples=[["deck oven"]],
        ),
    ] = Field(default_factory=list)
    shape_min_per_piece: Annotated[
        Number | None,
        Field(
            description="Hands-on minutes of dividing and shaping a piece, of one person [min].",
            examples=[0.4],
        ),
    ] = None
    shape_people: Annotated[
        Whole,
        Field(
            description="How many people divide and shape it together, each an even share.",
            examples=[2],
        ),
    ] = 1
    bench_rest_min: Annotated[
        Whole,
        Field(description="Rest between rounding and shaping [min].", examples=[15]),
    ] = 0
    bake_c: Annotated[
        Number | None,
        Field(
            description="At what the oven is set for it, or how hot one that cools after its fire"
            " is at loading [°C]; any when left out.",
            examples=[240.0],
        ),
    ] = None
    bake_band_k: Annotated[
        Number,
        Field(
            description="Give or take so much, in an oven that cools after its fire [K].",
            examples=[15.0],
        ),
    ] = 15.0
    pieces_per_min: Annotated[
        Number | None,
        Field(
            description="Pieces that go onto the belt of a conveyor oven in a minute [1/min].",
            examples=[20.0],
        ),
    ] = None
    cool_min: Annotated[
        Whole, Field(description="Minutes from the oven to the door [min].", examples=[45])
    ] = 45
    bake_loss_fraction: Annotated[
        Number | None,
        Field(description="Share of the weight lost in baking.", examples=[0.12]),
    ] = None
    handling_loss_fraction: Annotated[
        Number | None,
        Field(description="Share of the dough left in bowl and on the bench.", examples=[0.01]),
    ] = None

    @field_validator("piece_kg")
    @classmethod
    def _one_weight(cls, piece_kg: float | None, info: ValidationInfo) -> float | None:
        """Ask for the piece or for what is sold; told beside all else that is wrong."""
        sold_kg = info.data.get("sold_kg")
        if piece_kg is None and sold_kg is None and "sold_kg" in info.data:
            raise wrong("", None, "is missing", "enter a number, or sold_kg in its place")
        if piece_kg is not None and sold_kg is not None:
            raise wrong("", piece_kg, "is given beside sold_kg", "enter one of the two")
        return piece_kg

    @model_validator(mode="after")
    def _one_rule(self) -> ProductInput:
        if self.bake_extra_kg is not None and self.sold_kg is None:
            problem = "counts only with sold_kg, the weight of a baked piece"
            raise wrong("bake_extra_kg", self.bake_extra_kg, problem, "enter sold_kg, or leave it")
        if self.bake_extra_kg is not None and self.bake_loss_fraction is not None:
            problem = "is a second rule beside bake_loss_fraction"
            raise wrong("bake_extra_kg", self.bake_extra_kg, problem, "enter one of the two")
        return self

    def _weight(self, lost_fraction: float) -> tuple[float, core.SoldWeight | None]:
        """Return the dough of a piece [kg], and the weight it is sold at where that decides."""
        if self.sold_kg is None:
            return self.piece_kg or 0.0, None
        sold = core.SoldWeight(self.sold_kg, self.bake_extra_kg)
        return sold.piece_kg(lost_fraction), sold

    def to_core(
        self, faults: Faults, house: House, curves: Mapping[str, ripe.Curve]
    ) -> core.Product | None:
        """Return the core's product, or None when it has faults.

        Parameters
        ----------
        faults
            Takes what is wrong.
        house
            What must be known of the bakery.
        curves
            What ripens each formula's dough, by formula id.
        """
        before = len(faults.found)
        known = tuple(curves)
        formula_id = faults.build(the_only, "formula", self.formula, known, known)
        ovens = faults.build(house.oven_ids, self.ovens)
        curve = curves.get(formula_id or "", ripe.Curve.YEAST)
        routes = faults.build(every, "proof", self.proof, lambda way: way.to_core(house, curve))
        lost = Estimate.entered_or(self.bake_loss_fraction, 0.12, 0.02, "10 to 13 % in trade texts")
        weight = faults.build(self._weight, lost.value)
        if formula_id is None or ovens is None or routes is None or weight is None:
            return None
        if len(faults.found) > before:
            return None
        piece_kg, sold = weight
        return faults.build(
            lambda: core.Product(
                id=self.key,
                name=self.name,
                formula_id=formula_id,
                piece_kg=piece_kg,
                routes=routes,
                bake_min=self.bake_min,
                pieces_per_place=self.pieces_per_place,
                oven_ids=ovens,
                shape_min_per_piece=Estimate.entered_or(
                    self.shape_min_per_piece, 0.4, 0.15, "usual pair of hands"
                ),
                shape_people=self.shape_people,
                bake_c=self.bake_c,
                bake_band_k=self.bake_band_k,
                pieces_per_min=self.pieces_per_min,
                bench_rest_min=self.bench_rest_min,
                cool_min=self.cool_min,
                bake_loss_fraction=lost,
                handling_loss_fraction=Estimate.entered_or(
                    self.handling_loss_fraction, 0.01, 0.01, "0 to 3 % in trade texts"
                ),
                sold=sold,
            )
        )
