"""The first page a browser opens."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from api.around import CARRIES_STYLE
from api.dependencies import NowDep, PrincipalDep, ReadDep, SettingsDep
from api.pages.home import ListedPlan, home_html
from api.store import plan_views, plans

router = APIRouter(include_in_schema=False)


@router.get("/", response_class=HTMLResponse)
def read_home(
    session: ReadDep, settings: SettingsDep, now: NowDep, sender: PrincipalDep
) -> HTMLResponse:
    """List the plans there are, with the way to their sheets."""
    heads = plan_views.heads(
        session, plans.listed(session, sender.bakery_id), now, settings.stale_s
    )
    listed = [
        ListedPlan(head.id, head.bakery_id, head.production_date, head.version, head.state)
        for head in heads
    ]
    return HTMLResponse(home_html(listed, demo=settings.demo), headers=CARRIES_STYLE)
