"""Square codes to scan, as drawings inside the page."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING
from urllib.parse import quote

if TYPE_CHECKING:
    from markupsafe import Markup

    from api.pages.words import Words


def mix_address(link: str, mix_id: str) -> str:
    """Return the address of a mix's own page.

    Examples
    --------
    >>> mix_address("http://kitchen:8000/api/v1/plans/weir.2026-07-16.1", "white 1/2")
    'http://kitchen:8000/api/v1/plans/weir.2026-07-16.1/mixes/white%201%2F2/ticket'
    """
    return f"{link.rstrip('/')}/mixes/{quote(mix_id, safe='')}/ticket"


def mix_code(link: str, mix_id: str, say: Words) -> Markup:
    """Return the code of a mix's page as an SVG drawing with its name.

    Parameters
    ----------
    link
        Address of the plan.
    mix_id
        Id of the mix.
    say
        The words of the house.
    """
    import segno  # noqa: PLC0415  (paid for when a code is drawn)
    from markupsafe import Markup  # noqa: PLC0415  (the same)

    address = mix_address(link, mix_id)
    drawn = io.BytesIO()
    segno.make(address, error="m", micro=False).save(
        drawn, kind="svg", xmldecl=False, svgns=False, omitsize=True, border=2,
        title=say("This mix on a screen"), svgclass=None, lineclass=None,
    )  # fmt: skip
    return Markup(drawn.getvalue().decode("utf-8").replace("<svg ", '<svg role="img" ', 1))  # noqa: S704  (drawn by us; the title is escaped by segno)
