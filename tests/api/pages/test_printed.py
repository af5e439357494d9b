"""The sheet on paper: printed by a browser, page by page."""

import re
import shutil
import subprocess
from dataclasses import replace

import pytest

from api.pages.sheet import sheet_html
from planner.planned import Plan
from planner.remarks import Remark, RemarkKind
from tests.api.pages.sample import sample_plan, strip_of
from tests.api.pages.sample_house import ZONE

CHROMIUM = shutil.which("chromium")
PDFTOTEXT = shutil.which("pdftotext")
pytestmark = pytest.mark.skipif(
    not (CHROMIUM and PDFTOTEXT), reason="needs chromium and poppler-utils"
)


def pages_of(plan: Plan, folder) -> list[str]:
    page, printed = folder / "sheet.html", folder / "sheet.pdf"
    page.write_text(sheet_html(plan, ZONE), encoding="utf-8")
    quiet = ("--no-sandbox", "--headless", "--disable-gpu", "--no-pdf-header-footer")
    subprocess.run(
        [CHROMIUM, *quiet, f"--user-data-dir={folder}", f"--print-to-pdf={printed}", page.as_uri()],
        check=True,
        capture_output=True,
        timeout=60,
    )
    text = subprocess.run(
        [PDFTOTEXT, "-layout", printed, "-"], check=True, capture_output=True, timeout=60
    ).stdout.decode()
    return text.split("\f")[:-1]


def ticket_pages(pages: list[str]) -> list[str]:
    """Pages between the rows of the shift and the preparations."""
    first = next(i for i, page in enumerate(pages) if re.search(r"Mix 1:", page))
    last = next(i for i, page in enumerate(pages) if re.match(r"\s*Preparations", page))
    return pages[first:last]


def crowded(plan: Plan) -> Plan:
    """Every mix with four cautions, three reasons and a strip of five columns."""
    long = "Raw egg: keep it cold until it goes in, then wash hands and tools; follow your code."
    cautions = [
        Remark(RemarkKind.CAUTION, code, long) for code in ("ice_in_bowl", "raw_egg", "allergens")
    ]
    reasons = [Remark(RemarkKind.REASON, f"r{i}", f"Reason {i}, {long}") for i in range(3)]
    mixes = tuple(
        replace(
            mix,
            remarks=(*mix.remarks, *cautions, *reasons),
            ticket=replace(
                mix.ticket,
                strip=strip_of("levain", 26.0, 27.5, 17.2, 8.35),
            ),
        )
        for mix in plan.mixes
    )
    return replace(plan, mixes=mixes)


@pytest.mark.parametrize("make", [lambda plan: plan, crowded], ids=["ordinary", "crowded"])
def test_each_ticket_is_one_page(make, tmp_path):
    pages = ticket_pages(pages_of(make(sample_plan()), tmp_path))
    assert [re.findall(r"Mix \d:", page) for page in pages] == [["Mix 1:"], ["Mix 2:"], ["Mix 3:"]]


def test_each_page_has_its_number_date_and_version(tmp_path):
    pages = pages_of(sample_plan(), tmp_path)
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert "2026-07-16, plan version 3" in page
