"""The process that turns a page into PDF: reads the page from its input, writes to its output.

Run as ``python -m api.pages.pdf_child``; it limits its own memory and processor time first, and
fetches nothing but the fonts that are shipped beside it.
"""

from __future__ import annotations

import sys
from importlib import resources

from api.pages.pdf import MISSING

MEMORY_BYTES = 1_500_000_000
"""Address space the process may take; what it really uses stays far below."""

PROCESSOR_S = 60
FONTS = (
    ("sheet-sans-regular.ttf", "normal", "normal"),
    ("sheet-sans-bold.ttf", "bold", "normal"),
    ("sheet-sans-oblique.ttf", "normal", "italic"),
)
ADDRESS = "font:"
"""Scheme of our own under which the shipped fonts are asked for."""


def font_css() -> str:
    """Return the style that sets everything in the shipped font under a name of our own."""
    faces = "".join(
        f'@font-face {{ font-family: "Sheet Sans"; src: url({ADDRESS}{name}); '
        f"font-weight: {weight}; font-style: {style}; }}"
        for name, weight, style in FONTS
    )
    return faces + 'html, body, svg text { font-family: "Sheet Sans"; }'


def limit() -> None:
    """Limit memory and processor time where the system knows how."""
    try:
        import resource  # noqa: PLC0415  (not on every system)
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_S, PROCESSOR_S))


def font_bytes(url: str) -> bytes:
    """Return a shipped font; anything else is refused.

    Raises
    ------
    ValueError
        If something else is asked for.
    """
    names = {name for name, _, _ in FONTS}
    name = url.removeprefix(ADDRESS)
    if not url.startswith(ADDRESS) or name not in names:
        raise ValueError(f"{url!r} is not fetched: papers use what is in them.")
    return resources.files("api.pages").joinpath("static", "fonts", name).read_bytes()


def write(page: str) -> bytes:
    """Return a page as PDF; needs what the extra brings.

    Raises
    ------
    ImportError, OSError
        If it is missing.
    """
    from weasyprint import CSS, HTML  # noqa: PLC0415  (an extra)
    from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415  (the same)
    from weasyprint.urls import URLFetcher, URLFetcherResponse  # noqa: PLC0415  (the same)

    class OnlyFonts(URLFetcher):  # type: ignore[misc]
        """Gives the shipped fonts and nothing else; whatever else is asked for ends the work."""

        def fetch(self, url: str, headers: object = None) -> object:  # noqa: ARG002
            return URLFetcherResponse(url, font_bytes(url), {"Content-Type": "font/ttf"})

    fetcher, fonts = OnlyFonts(fail_on_errors=True), FontConfiguration()
    style = CSS(string=font_css(), font_config=fonts, url_fetcher=fetcher)
    document = HTML(string=page, url_fetcher=fetcher)
    made: bytes = document.write_pdf(stylesheets=[style], font_config=fonts)
    return made


def main() -> int:
    """Read a page, write its PDF; 3 when what makes PDF is missing."""
    limit()
    page = sys.stdin.buffer.read().decode()
    try:
        import weasyprint  # noqa: PLC0415, F401  (an extra)
    except (ImportError, OSError) as error:
        sys.stderr.write(str(error).splitlines()[0])
        return MISSING
    sys.stdout.buffer.write(write(page))
    return 0


if __name__ == "__main__":
    sys.exit(main())
