"""What pip cannot bring: a browser, poppler, Pango. Missing it is a skip, in CI a failure."""

from __future__ import annotations

import importlib
import os
import shutil
import subprocess

import pytest


def missing(what: str) -> None:
    """Skip a test that needs something, or fail it where the build must have brought it."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"in CI these tests need {what}")
    pytest.skip(f"needs {what}")


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of the system's own browser; none is ever fetched."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        missing("chromium")
    return found or ""


@pytest.fixture(scope="session")
def browser(chromium):
    """A browser without network."""
    try:
        from playwright.sync_api import sync_playwright  # noqa: PLC0415  (an extra)
    except ImportError:
        missing("the extra e2e")
    quiet = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
    quiet += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
    quiet += ["--host-resolver-rules=MAP kitchen 127.0.0.1"]  # a name of plain http
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=chromium, args=quiet)
        yield made
        made.close()


@pytest.fixture(scope="session")
def axe():
    """The accessibility rules of axe-core, as a package brings them."""
    try:
        rules = importlib.import_module("axe_playwright_python.sync_playwright")
    except ImportError:
        missing("the extra e2e")
    return rules.Axe()


@pytest.fixture(scope="session")
def poppler():
    """Runs a poppler tool on some bytes and returns what it prints."""
    if shutil.which("pdftotext") is None:
        missing("poppler-utils")

    def run(tool: str, printed: bytes, *options: str) -> str:
        output = ["-"] if tool == "pdftotext" else []
        command = [tool, *options, "-", *output]
        done = subprocess.run(command, input=printed, capture_output=True, check=True, timeout=60)
        return done.stdout.decode()

    return run


@pytest.fixture(scope="session")
def _pdf_extra():
    try:
        importlib.import_module("weasyprint")
    except (ImportError, OSError):
        missing("the extra pdf with Pango")
