"""Formulas of a bakery."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.routes.shared import READS, REMOVES, WRITES, BakeryId, FormulaId, resource, tell
from api.schemas.formula import FormulaInput
from api.schemas.heads import DocumentHead
from api.store import formulas

router = resource("formulas", "/bakeries/{bakery_id}/formulas")


@router.get("", responses=READS)
def list_formulas(bakery_id: BakeryId, session: ReadDep) -> list[DocumentHead]:
    """List the formulas of a bakery."""
    return formulas.heads(session, bakery_id)


@router.get("/{formula_id}", responses=READS, response_model_exclude_unset=True)
def read_formula(bakery_id: BakeryId, formula_id: FormulaId, session: ReadDep) -> FormulaInput:
    """Read a formula as entered."""
    return formulas.get(session, bakery_id, formula_id)


@router.put("/{formula_id}", responses=WRITES, response_model_exclude_unset=True)
def put_formula(
    bakery_id: BakeryId,
    formula_id: FormulaId,
    sent: FormulaInput,
    session: WriteDep,
    now: NowDep,
    response: Response,
) -> FormulaInput:
    """Store a formula under its id; the same again changes nothing."""
    tell(response, formulas.put(session, bakery_id, formula_id, sent, now))
    return formulas.get(session, bakery_id, formula_id)


@router.delete("/{formula_id}", status_code=204, responses=REMOVES)
def delete_formula(bakery_id: BakeryId, formula_id: FormulaId, session: WriteDep) -> None:
    """Remove a formula; plans made from it keep their own copy."""
    formulas.delete(session, bakery_id, formula_id)
