"""The pages of a bakery's set-up."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import Path, Query, Request, Response
from fastapi.responses import HTMLResponse

from api.dependencies import IN_TURN, NowDep, ReadDep, ServicesDep
from api.errors import NotFoundError
from api.office.edits import clash_of
from api.office.forms import Typed, with_faults
from api.office.setup_page import PARTS, setup_html, stored_part, with_part
from api.routes.office import FormDep, Refused, go_to, pages, shell_of, writing
from api.routes.shared import BakeryId
from api.schemas.bakery import BakeryInput
from api.store import bakeries, documents, office
from api.store.locks import lock_bakery
from api.store.tables import BakeryRow
from planner.errors import InputError

router = pages()

PartName = Annotated[str, Path(max_length=40)]
Saved = Annotated[int, Query(ge=0, le=1)]


@router.get("/bakery/{bakery_id}/setup")
def read_setup(bakery_id: BakeryId) -> Response:
    """Go to the part that sharpens plans most."""
    return go_to(f"/bakery/{quote(bakery_id, safe='')}/setup/mixers")


@router.get("/bakery/{bakery_id}/setup/{part}", response_class=HTMLResponse)
def read_setup_part(
    bakery_id: BakeryId,
    part: PartName,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
    saved: Saved = 0,
) -> HTMLResponse:
    """Show one part of the set-up."""
    _check_part(part)
    stored = documents.get(session, BakeryRow, {"id": bakery_id}).document
    shell = shell_of(request, held, session, bakery_id, "setup")
    return HTMLResponse(setup_html(part, stored_part(stored, part), shell, saved=bool(saved)))


@router.post("/bakery/{bakery_id}/setup/{part}", response_class=HTMLResponse, dependencies=IN_TURN)
def save_setup_part(
    bakery_id: BakeryId,
    part: PartName,
    typed: FormDep,
    request: Request,
    held: ServicesDep,
    now: NowDep,
) -> Response:
    """Store one part of the set-up as typed."""
    _check_part(part)
    seen, following = str(typed.pop("seen", "")), str(typed.pop("on", ""))
    place = f"/bakery/{quote(bakery_id, safe='')}/setup"
    with writing(held, request) as session:
        lock_bakery(session, bakery_id)
        shell = shell_of(request, held, session, bakery_id, "setup")
        stored = dict(documents.get(session, BakeryRow, {"id": bakery_id}).document)
        before = stored_part(stored, part)
        if seen != before.seen:
            clash = clash_of(before.document, typed, f"{place}/{part}")
            raise Refused(setup_html(part, Typed(typed, seen=before.seen), shell, clash), 409)
        try:
            entered = office.checked(BakeryInput, with_part(stored, part, typed))
            bakeries.put(session, bakery_id, entered, now)
        except InputError as error:
            raise Refused(
                setup_html(part, with_faults(typed, error.faults, before.seen), shell)
            ) from None
    if following in PARTS:
        return go_to(f"{place}/{following}")
    return go_to(f"{place}/{part}?saved=1")


def _check_part(part: str) -> None:
    if part not in PARTS:
        raise NotFoundError("part of the set-up", part)
