"""Papers as PDF, made in a process of its own: what renders pages may crash, and then only it does.

The same page as on screen is set with a font that is shipped, under a name of our own, so that a
machine without any font prints the same letters.
"""

from __future__ import annotations

import subprocess
import sys
from threading import BoundedSemaphore

SECONDS = 30.0
"""The longest one set of papers may take [s]; a pack of sixteen mixes takes about five."""

AT_ONCE = 2
"""Sets of papers that are made at the same time; others wait."""

MISSING, LATER = 3, "Print the HTML sheet from a browser meanwhile."
REMEDY = (
    "Install the extra with `pip install 'ovenward[pdf]'` and Pango for it (Debian: libpango-1.0-0,"
    " libpangoft2-1.0-0, libharfbuzz-subset0; macOS: `brew install pango`), then ask again. "
) + LATER

_turns = BoundedSemaphore(AT_ONCE)


class NoPdfError(RuntimeError):
    """What makes PDF is not installed; the message says what to install."""


class PdfBrokenError(RuntimeError):
    """Making the PDF took too long, too much memory, or crashed."""


def pdf_of(page: str, seconds: float = SECONDS) -> bytes:
    """Return a page as PDF.

    Parameters
    ----------
    page
        The page, with its style in it and without links to anything outside.
    seconds
        The longest it may take [s].

    Raises
    ------
    NoPdfError
        If what makes PDF is not installed.
    PdfBrokenError
        If it takes too long, too much memory, or crashes.
    """
    command = [sys.executable, "-m", "api.pages.pdf_child"]
    with _turns:
        try:
            done = subprocess.run(  # noqa: S603  (our own module, nothing from outside in it)
                command, input=page.encode(), capture_output=True, timeout=seconds, check=False
            )
        except subprocess.TimeoutExpired as error:
            raise PdfBrokenError(f"The PDF was not ready after {seconds:g} s. {LATER}") from error
    if done.returncode == MISSING:
        raise NoPdfError(f"PDF is not installed here: {done.stderr.decode().strip()}. {REMEDY}")
    if done.returncode != 0 or not done.stdout.startswith(b"%PDF"):
        told = (done.stderr.decode(errors="replace").strip().splitlines() or [""])[-1]
        raise PdfBrokenError(f"Making the PDF broke off ({done.returncode}). {told} {LATER}")
    return done.stdout
