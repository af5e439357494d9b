"""How many doughs of a plan other nights than the one foreseen would put outside their windows."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Robustness:
    """How many doughs lie outside their windows on nights that turn out otherwise than foreseen.

    Attributes
    ----------
    nights
        Nights drawn.
    bulks, bulks_outside
        Divides judged on all of them together, and those outside their window.
    proofs, proofs_outside
        Loadings, likewise.
    """

    nights: int
    bulks: int
    bulks_outside: int
    proofs: int
    proofs_outside: int

    @property
    def judged(self) -> int:
        """How many divides and loadings the share is counted on."""
        return self.bulks + self.proofs

    @property
    def outside_share(self) -> float:
        """Share of divides and loadings outside their window, 0 to 1; 0 where nothing is judged."""
        outside = self.bulks_outside + self.proofs_outside
        return outside / self.judged if self.judged else 0.0
