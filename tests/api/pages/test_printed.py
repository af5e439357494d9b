"""The papers on paper: printed by a browser, page by page."""

import re
import shutil
import subprocess
from dataclasses import replace

import pytest

from api.pages.choice import Choice, Paper
from api.pages.sheet import PaperSize, page_of
from api.pages.ticket_height import height_mm
from planner.planned import Plan
from planner.remarks import Remark, RemarkKind
from tests.api.pages.papers import content_of
from tests.api.pages.sample import sample_plan, strip_of
from tests.api.pages.sample_nights import night_of, plain_mixes

CHROMIUM = shutil.which("chromium")
PDFTOTEXT = shutil.which("pdftotext")
pytestmark = pytest.mark.skipif(
    not (CHROMIUM and PDFTOTEXT), reason="needs chromium and poppler-utils"
)
TICKETS = Choice((Paper.TICKETS,))


def pages_of(plan: Plan, folder, choice=None, size=PaperSize.A4) -> list[str]:
    page, printed = folder / "sheet.html", folder / "sheet.pdf"
    page.write_text(page_of(content_of(plan, choice=choice), size), encoding="utf-8")
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
            ticket=replace(mix.ticket, strip=strip_of("levain", 26.0, 27.5, 17.2, 8.35)),
        )
        for mix in plan.mixes
    )
    return replace(plan, mixes=mixes)


@pytest.mark.parametrize("size", PaperSize)
@pytest.mark.parametrize("make", [lambda plan: plan, crowded], ids=["ordinary", "crowded"])
def test_a_ticket_is_one_page_or_says_that_it_goes_on(make, size, tmp_path):
    """Letters never shrink: what does not fit stands overleaf, under the name of the mix."""
    plan = make(sample_plan())
    heights = [height_mm(ticket) for ticket in content_of(plan, choice=TICKETS).tickets]
    expected = [
        f"Mix {n}:" for n, h in enumerate(heights, 1) for _ in range(1 + (h > size.height_mm))
    ]
    pages = pages_of(plan, tmp_path, TICKETS, size)
    assert [re.findall(r"Mix \d:", page) for page in pages] == [[name] for name in expected]
    assert len(set(expected)) < len(expected) if make is crowded else True


def test_each_page_has_its_number_date_and_version(tmp_path):
    pages = pages_of(sample_plan(), tmp_path)
    assert len(pages) > 3
    for number, page in enumerate(pages, start=1):
        assert f"page {number} / {len(pages)}" in page
        assert "2026-07-16, plan version 3" in page


def test_twelve_plain_mixes_fit_on_six_pages(tmp_path):
    pages = pages_of(night_of(plain_mixes(12)), tmp_path)
    assert len(pages) <= 6
    text = "".join(pages)
    assert all(text.count(f"Mix {n}:") == 1 for n in range(1, 13))


def test_one_persons_dough_fits_on_both_sides_of_one_sheet(tmp_path):
    plan = night_of(plain_mixes(1), people=1)
    levain = replace(sample_plan().preparations[0], mix_ids=(plan.mixes[0].id,))
    assert len(pages_of(replace(plan, preparations=(levain,)), tmp_path)) <= 2


def test_a_mix_in_row_form_is_never_split_and_heads_are_repeated(tmp_path):
    pages = pages_of(night_of(plain_mixes(12)), tmp_path)
    for page in pages:
        assert len(re.findall(r"Mix \d+:", page)) == page.count("off the mixer at")
    rows = [page for page in pages if re.search(r"\bbulk →", page)]
    assert len(rows) >= 2
    assert all("then waits" in page for page in rows)
