"""What hands do at a screen, and what eyes read there."""

from __future__ import annotations

FLOUR, PART = "flour temperature", "preferment or scald temperature"
ON, OFF, END = "mixer started", "off the mixer", "dough temperature at the end"


def box(page, kind, nth=0):
    return page.locator(f'.box[data-kind="{kind}"]').nth(nth)


def write(page, kind, text, nth=0):
    """Write a figure in a box and press Enter."""
    one = box(page, kind, nth)
    one.locator("input").fill(text)
    one.locator("input").press("Enter")


def tap(page, kind, what=".go"):
    box(page, kind).locator(what).click()


def written(page, kind, nth=0):
    return box(page, kind, nth).locator(".written").inner_text()


def wait_written(page, kind, text, nth=0):
    """Wait until a box shows something, answered by the service."""
    page.wait_for_function(
        "([kind, nth, text]) => {"
        " const box = document.querySelectorAll(`.box[data-kind='${kind}']`)[nth];"
        " const told = box.querySelector('.written').textContent;"
        " return told.includes(text) && !told.includes('waits'); }",
        arg=[kind, nth, text],
    )


def numbers(page):
    """The five numbers."""
    return [one.inner_text() for one in page.locator("[data-number]").all()]


def wait_sent(page, bakery="bakehouse"):
    """Wait until nothing is kept any more."""
    page.wait_for_function(
        "(name) => !Object.keys(localStorage).some((key) => key.startsWith(name))",
        arg=f"ovenward/{bakery}/entry/",
    )


def kept(page, bakery="bakehouse"):
    """How many entries are kept on the device."""
    return page.evaluate(
        "(name) => Object.keys(localStorage).filter((key) => key.startsWith(name)).length",
        f"ovenward/{bakery}/entry/",
    )
