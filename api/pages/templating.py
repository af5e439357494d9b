"""The templates of all pages, with escaping on."""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

from api.addresses import at
from api.pages.codes import mix_code
from api.pages.ticket_height import boxes_right, front_holds_times, height_mm, reasons_that_fit

if TYPE_CHECKING:
    from jinja2 import Environment


@cache
def templates() -> Environment:
    """Return the templates; made once."""
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415  (costly)
    from markupsafe import Markup  # noqa: PLC0415  (the same)

    made = Environment(
        loader=PackageLoader("api.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    style = resources.files("api.pages").joinpath("static", "sheet.css").read_text("utf-8")
    made.globals["style"] = Markup(style)  # noqa: S704  (our own file, no input in it)
    made.globals["code"] = mix_code
    made.globals["at"] = at
    made.globals["height_mm"] = height_mm
    made.globals["boxes_right"] = boxes_right
    made.globals["reasons_that_fit"] = reasons_that_fit
    made.globals["front_holds_times"] = front_holds_times
    return made
