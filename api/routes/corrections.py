"""What a bakery's readings have taught; it is learned, and never entered."""

from __future__ import annotations

from api.dependencies import ReadDep
from api.routes.shared import READS, BakeryId, resource
from api.schemas.corrections import MixingWorkRead
from api.store import corrections

router = resource("corrections", "/bakeries/{bakery_id}/corrections")


@router.get("", responses=READS)
def list_corrections(bakery_id: BakeryId, session: ReadDep) -> list[MixingWorkRead]:
    """List what was learned of the bakery's mixers; the next plan is made with it."""
    return corrections.listed(session, bakery_id)
