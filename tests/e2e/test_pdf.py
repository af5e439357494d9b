"""Papers as PDF: made in a child with limits, in the shipped letters, on both sizes."""

import re
import threading
import time

import pytest

from api.pages.choice import EVERYTHING, Choice
from api.pages.pdf import PdfBrokenError, pdf_of
from api.pages.sheet import PaperSize, page_of
from tests.api.pages.papers import content_of, html_of
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_nights import night_of, plain_mixes

pytestmark = [pytest.mark.e2e, pytest.mark.usefixtures("_pdf_extra")]
SIZES = {PaperSize.A4: "595.276 x 841.89", PaperSize.LETTER: "612 x 792"}


@pytest.fixture(scope="module")
def printed():
    return pdf_of(html_of(sample_plan(), choice=Choice(EVERYTHING)))


def test_it_says_what_the_page_says(printed, poppler):
    text = poppler("pdftotext", printed, "-layout")
    for words in ("Bakery at the Weir", "17.22", "8.35", "Divide list", "Bake list", "23:40"):
        assert words in text


def test_each_page_has_its_number_date_and_version(printed, poppler):
    pages = poppler("pdftotext", printed, "-layout").split("\f")[:-1]
    assert len(pages) > 8
    for number, page in enumerate(pages, start=1):
        assert f"page {number} / {len(pages)}" in page
        assert "2026-07-16, plan version 3" in page


def test_only_the_shipped_letters_are_in_it_and_all_of_them_are_embedded(printed, poppler):
    fonts = poppler("pdffonts", printed).splitlines()[2:]
    assert fonts
    assert all(re.search(r"Sheet-Sans.* yes +yes", line) for line in fonts)


@pytest.mark.parametrize("size", PaperSize)
def test_it_has_the_size_that_was_asked_for(size, poppler):
    made = pdf_of(page_of(content_of(sample_plan()), size))
    assert SIZES[size] in poppler("pdfinfo", made)


def test_twelve_plain_mixes_fit_on_six_pages(poppler):
    made = pdf_of(html_of(night_of(plain_mixes(12))))
    assert int(re.search(r"Pages: +(\d+)", poppler("pdfinfo", made))[1]) <= 6


def test_what_takes_too_long_is_ended():
    began = time.monotonic()
    with pytest.raises(PdfBrokenError, match="not ready after"):
        pdf_of(html_of(night_of(plain_mixes(12))), seconds=0.3)
    assert time.monotonic() - began < 5


def test_nothing_is_fetched():
    with pytest.raises(PdfBrokenError, match=r"is not fetched|Error fetching"):
        pdf_of('<p>x</p><img src="file:///etc/hostname">')


def test_other_work_goes_on_meanwhile():
    """While a PDF is made, this process counts: the child does not hold its interpreter."""
    page = html_of(night_of(plain_mixes(12)))
    worker = threading.Thread(target=pdf_of, args=(page,))
    worker.start()
    longest, last = 0.0, time.monotonic()
    while worker.is_alive():
        time.sleep(0.005)
        longest, last = max(longest, time.monotonic() - last), time.monotonic()
    assert longest < 0.5
