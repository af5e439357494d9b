"""Products: a piece of one dough, proofed and baked."""

from __future__ import annotations

from dataclasses import dataclass, field

from planner.errors import check_name, check_within, refuse
from planner.estimate import Estimate
from planner.ripening import Ripening


@dataclass(frozen=True, slots=True)
class Product:
    """What is sold: a piece of one dough, proofed and baked.

    Attributes
    ----------
    piece_kg
        Scaling weight of a piece of dough [kg].
    routes
        Ways to proof it, the usual one first: a proof in a room or proofer, a retard, or both
        to choose from.
    pieces_per_place
        Pieces that one oven place (a deck, a rack) and one rack of a chamber take.
    oven_ids
        Ovens it may be baked in.
    shape_min_per_piece
        Hands-on minutes of dividing and shaping per piece, of one person [min].
    shape_people
        How many divide and shape it together, each an even share.
    bake_c, bake_band_k
        At what the oven is set for it, or, in an oven that cools after its fire, at what it may go
        in, give or take so much [°C, K]. The band is our guess.
    pieces_per_min
        Pieces that go onto the belt of a conveyor oven in a minute.
    bench_rest_min
        Rest between rounding and shaping [min].
    cool_min
        Minutes from the oven to the door [min].
    bake_loss_fraction, handling_loss_fraction
        Share of dough weight lost in baking, and left in bowl and on the bench.
    """

    id: str
    name: str
    formula_id: str
    piece_kg: float
    routes: tuple[Ripening, ...]
    bake_min: int
    pieces_per_place: int
    oven_ids: tuple[str, ...]
    shape_min_per_piece: Estimate = field(
        default_factory=lambda: Estimate.entered_or(None, 0.4, 0.15, "usual pair of hands")
    )
    bench_rest_min: int = 0
    cool_min: int = 45
    bake_loss_fraction: Estimate = field(
        default_factory=lambda: Estimate.entered_or(None, 0.12, 0.02, "10 to 13 % in trade texts")
    )
    handling_loss_fraction: Estimate = field(
        default_factory=lambda: Estimate.entered_or(None, 0.01, 0.01, "0 to 3 % in trade texts")
    )
    shape_people: int = 1
    bake_c: float | None = None
    bake_band_k: float = 15.0
    pieces_per_min: float | None = None

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("piece_kg", self.piece_kg, 0.005, 50, "kg")
        check_within("bake_min", self.bake_min, 1, 600, "min")
        check_within("pieces_per_place", self.pieces_per_place, 1, 5000, "pieces")
        check_within("cool_min", self.cool_min, 0, 1440, "min")
        check_within("shape_people", self.shape_people, 1, 20, "people")
        if self.bake_c is not None:
            check_within("bake_c", self.bake_c, 60, 500, "°C")
        check_within("bake_band_k", self.bake_band_k, 1, 100, "K")
        if self.pieces_per_min is not None:
            check_within("pieces_per_min", self.pieces_per_min, 0.01, 10_000, "pieces/min")
        check_within("bench_rest_min", self.bench_rest_min, 0, 240, "min")
        if not self.routes:
            raise refuse("routes", (), "there is no way to proof it", "enter a proof or a retard")
        if not self.oven_ids:
            raise refuse("oven_ids", (), "names no oven", "enter at least one oven id")
