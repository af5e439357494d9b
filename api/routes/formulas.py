"""Formulas of a bakery."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Path, Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.routes.paging import ById, Paging, paged_by
from api.routes.shared import (
    MAY_BE_KNOWN,
    READS,
    READS_ONE,
    REMOVES,
    WRITES,
    BakeryId,
    ExpectedDep,
    FormulaId,
    resource,
    tagged,
    tell,
)
from api.schemas.formula import FormulaInput
from api.schemas.formula_versions import FormulaVersionHead
from api.schemas.heads import DocumentHead
from api.store import formulas

router = resource("formulas", "/bakeries/{bakery_id}/formulas")


@router.get("", responses=READS)
def list_formulas(bakery_id: BakeryId, session: ReadDep, paging: ById) -> list[DocumentHead]:
    """List the formulas of a bakery."""
    rows = formulas.heads(session, bakery_id, paging.page)
    return paging.cut(rows, lambda one: (one.id,))


@router.get(
    "/{formula_id}",
    responses=READS_ONE,
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_formula(
    bakery_id: BakeryId, formula_id: FormulaId, session: ReadDep, response: Response
) -> FormulaInput:
    """Read a formula as entered."""
    return tagged(response, formulas.get(session, bakery_id, formula_id))


VersionPagingDep = Annotated[Paging, Depends(paged_by(int))]
VersionNumber = Annotated[
    int, Path(description="Which version, from 1.", ge=1, le=2**31 - 1, examples=[1])
]


@router.get("/{formula_id}/versions", responses=READS)
def list_formula_versions(
    bakery_id: BakeryId, formula_id: FormulaId, session: ReadDep, paging: VersionPagingDep
) -> list[FormulaVersionHead]:
    """List the versions of a formula, the newest first; also of one that was removed."""
    rows = formulas.versions(session, bakery_id, formula_id, paging.page)
    return paging.cut(rows, lambda one: (one.version,))


@router.get("/{formula_id}/versions/{version}", responses=READS, response_model_exclude_unset=True)
def read_formula_version(
    bakery_id: BakeryId, formula_id: FormulaId, version: VersionNumber, session: ReadDep
) -> FormulaInput:
    """Read a formula as it was in one version."""
    return formulas.version(session, bakery_id, formula_id, version)


@router.put("/{formula_id}", responses=WRITES, response_model_exclude_unset=True)
def put_formula(
    bakery_id: BakeryId,
    formula_id: FormulaId,
    sent: FormulaInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> FormulaInput:
    """Store a formula under its id; the same again changes nothing."""
    tell(response, formulas.put(session, bakery_id, formula_id, sent, now, expected))
    return tagged(response, formulas.get(session, bakery_id, formula_id))


@router.delete("/{formula_id}", status_code=204, responses=REMOVES)
def delete_formula(
    bakery_id: BakeryId, formula_id: FormulaId, session: WriteDep, expected: ExpectedDep
) -> None:
    """Remove a formula; plans made from it keep their own copy."""
    formulas.delete(session, bakery_id, formula_id, expected)
