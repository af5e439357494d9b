"""The first page: the plans there are, and the way to their sheets."""

from __future__ import annotations

from collections.abc import Sequence

from api.pages.templating import templates
from api.schemas.plans import PlanHead


def home_html(plans: Sequence[PlanHead]) -> str:
    """Return the page that lists plans, newest day first."""
    return templates().get_template("home.html").render(plans=plans)
