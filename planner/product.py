"""Products: a piece of one dough, proofed and baked."""

from __future__ import annotations

from dataclasses import dataclass, field

from planner.errors import check_name, check_within, refuse
from planner.estimate import Estimate
from planner.ripening import Ripening


def piece_by_share_kg(baked_kg: float, lost_fraction: float) -> float:
    """Return the dough of a piece of which a share is lost in baking [kg].

    Parameters
    ----------
    baked_kg
        Weight sold [kg].
    lost_fraction
        Share of the *dough's* weight that is lost; 0.10 to 0.13 in trade texts.

    Examples
    --------
    >>> round(piece_by_share_kg(0.5, 0.10), 4)
    0.5556
    """
    return baked_kg / (1 - lost_fraction)


def piece_by_extra_kg(baked_kg: float, extra_kg: float) -> float:
    """Return the dough of a piece that is scaled so much heavier than it is sold [kg].

    Parameters
    ----------
    baked_kg
        Weight sold [kg].
    extra_kg
        What is added to a piece [kg]; 50 to 65 g on 500 g in trade texts. It is another rule than
        a share: a tenth of the dough is 55.6 g on 500 g.

    Examples
    --------
    >>> piece_by_extra_kg(0.5, 0.05)
    0.55
    """
    return baked_kg + extra_kg


@dataclass(frozen=True, slots=True)
class SoldWeight:
    """The weight a piece is sold at, and how its dough follows from it.

    Attributes
    ----------
    baked_kg
        Weight of the baked piece [kg].
    extra_kg
        What is added to each piece [kg]; None where a share of the dough is lost instead.
    """

    baked_kg: float
    extra_kg: float | None = None

    def __post_init__(self) -> None:
        check_within("baked_kg", self.baked_kg, 0.005, 50, "kg")
        if self.extra_kg is not None:
            check_within("extra_kg", self.extra_kg, 0, self.baked_kg, "kg")

    def piece_kg(self, lost_fraction: float) -> float:
        """Return the dough of a piece by its rule; the share counts where nothing is added [kg]."""
        if self.extra_kg is not None:
            return piece_by_extra_kg(self.baked_kg, self.extra_kg)
        return piece_by_share_kg(self.baked_kg, lost_fraction)


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
    sold
        The weight it is sold at, where its piece follows from that; None where the piece was given.
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

    sold: SoldWeight | None = None

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("handling_loss_fraction", self.handling_loss_fraction.value, 0, 0.5, "(share)")
        check_within("bake_loss_fraction", self.bake_loss_fraction.value, 0, 0.6, "(share)")
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
