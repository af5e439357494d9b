"""How long papers take: `python -m tests.benchmarks.papers`.

A made-up shift of 40 mixes, half of them plain, and the demo night; medians of one run. The PDF is
made in a child process, whose memory is told too, while this process counts how long it was held
up. Nothing here is a test.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import subprocess
import sys
import threading
from dataclasses import replace
from statistics import median
from time import monotonic, perf_counter, sleep
from zoneinfo import ZoneInfo

from api.pages.choice import EVERYTHING, Choice
from api.pages.reader import reader_of
from api.pages.sheet import sheet_html
from planner.planned import Plan, PlannedMix
from tests.api.pages.papers import html_of
from tests.api.pages.sample import country_mix, white_mix
from tests.api.pages.sample_nights import copies, night_of
from tests.scenarios.conftest import planned

MIXES, TIMES = 40, 5


def shift_of(count: int) -> Plan:
    """Mixes with ice and plain ones in turn, each of its own weight so that none is a run."""
    whites, countries = copies(white_mix(), count // 2, 12), copies(country_mix(), count // 2, 12)
    mixes: list[PlannedMix] = []
    for i, pair in enumerate(zip(whites, countries, strict=True)):
        mixes += [replace(mix, dough_kg=mix.dough_kg + i / 10) for mix in pair]
    return night_of(mixes)


def html_times(plan: Plan, choice: Choice) -> float:
    """Median seconds of a page, the first one, which loads the templates, left out."""
    html_of(plan, choice=choice)
    return median(_seconds(lambda: html_of(plan, choice=choice)) for _ in range(TIMES))


def _seconds(work: object) -> float:
    began = perf_counter()
    work()  # type: ignore[operator]
    return perf_counter() - began


HELPER = """
import resource, sys, time
from api.pages.pdf import pdf_of
page = sys.stdin.read()
began = time.perf_counter()
pdf_of(page, 120)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(time.perf_counter() - began, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)
"""
"""A process without the solver in it: a child's memory is counted from its parent's on."""


def pdf_figures(page: str) -> tuple[float, float, float, float]:
    """Seconds of a PDF, of them on the processor, the child's megabytes, and the longest this
    process was held up meanwhile [ms]."""
    told: list[str] = []
    command = [sys.executable, "-c", HELPER]
    worker = threading.Thread(
        target=lambda: told.append(
            subprocess.run(command, input=page, text=True, capture_output=True, check=True).stdout
        )
    )
    worker.start()
    held, last = 0.0, monotonic()
    while worker.is_alive():
        sleep(0.002)
        held, last = max(held, monotonic() - last - 0.002), monotonic()
    seconds, on_processor, megabytes = map(float, told[0].split())
    return seconds, on_processor, megabytes, 1000 * held


def main() -> None:
    """Print the figures."""
    shift, july = shift_of(MIXES), planned("july_night")
    reader = reader_of(july, ZoneInfo(july.day.bakery.zone))
    for name, choice in (("small pack", Choice()), ("every paper", Choice(EVERYTHING))):
        print(f"HTML of {MIXES} mixes, {name}: {1000 * html_times(shift, choice):.0f} ms")
    for name, page in (
        ("July night, small pack", sheet_html(july, reader)),
        ("July night, every paper", sheet_html(july, reader, Choice(EVERYTHING))),
        (f"{MIXES} mixes, small pack", html_of(shift)),
    ):
        try:
            seconds, on_processor, megabytes, held = pdf_figures(page)
        except IndexError:
            print(f"PDF, {name}: not made; is the extra pdf installed?")
            continue
        print(
            f"PDF, {name}: {seconds:.1f} s, {on_processor:.1f} s of them on the processor, "
            f"child {megabytes:.0f} MB, this process held up {held:.0f} ms at most"
        )


if __name__ == "__main__":
    main()
