"""What a bakery's readings have taught: learned, never entered; frozen, ignored or forgotten."""

from __future__ import annotations

from typing import Annotated

from fastapi import Path, Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.errors import responses
from api.routes.shared import (
    MAY_BE_KNOWN,
    READS,
    READS_ONE,
    REMOVES,
    BakeryId,
    ExpectedDep,
    resource,
    tell,
)
from api.schemas.corrections import MixingWorkDetailRead, MixingWorkRead, SwitchesInput
from api.store import corrections
from api.store.tags import tag_of

router = resource("corrections", "/bakeries/{bakery_id}/corrections")

SETS = {**REMOVES, **responses(413)}
MixerId = Annotated[
    str, Path(description="Id of the mixer.", max_length=100, examples=["spiral_1"])
]


@router.get("", responses=READS)
def list_corrections(bakery_id: BakeryId, session: ReadDep) -> list[MixingWorkRead]:
    """List what was learned of the bakery's mixers; the next plan is made with it."""
    return corrections.listed(session, bakery_id)


@router.get("/{mixer_id}", responses=READS_ONE, dependencies=MAY_BE_KNOWN)
def read_correction(
    bakery_id: BakeryId, mixer_id: MixerId, session: ReadDep, response: Response
) -> MixingWorkDetailRead:
    """Read what was learned of one mixer, with the finished mixes it rests on."""
    read = corrections.of_mixer(session, bakery_id, mixer_id)
    response.headers["ETag"] = tag_of(corrections.sent_document(read))
    return read


@router.put("/{mixer_id}", responses=SETS)
def put_switches(
    bakery_id: BakeryId,
    mixer_id: MixerId,
    sent: SwitchesInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> MixingWorkDetailRead:
    """Freeze what was learned of a mixer, or leave it out of plans; the same changes nothing."""
    tell(response, corrections.switch(session, bakery_id, mixer_id, sent, now, expected))
    read = corrections.of_mixer(session, bakery_id, mixer_id)
    response.headers["ETag"] = tag_of(corrections.sent_document(read))
    return read


@router.delete("/{mixer_id}", status_code=204, responses=REMOVES)
def delete_correction(
    bakery_id: BakeryId, mixer_id: MixerId, session: WriteDep, expected: ExpectedDep, now: NowDep
) -> None:
    """Forget what was learned of a mixer, as after a repair; the next reading begins anew."""
    corrections.reset(session, bakery_id, mixer_id, now, expected)
