"""Every paper of a night in a folder: to look at, to print, to hand on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, replace
from pathlib import Path

from api.pages.choice import Choice, Paper
from api.pages.day_drawing import drawing_file
from api.pages.dosing import dosing_ticket
from api.pages.pdf import NoPdfError, pdf_of
from api.pages.reader import Reader
from api.pages.rows import paper_rows, rows_csv
from api.pages.sheet import PaperSize, sheet_html
from planner.planned import Plan


def sample_choices(plan: Plan) -> Iterator[tuple[str, Choice]]:
    """Name the papers of a night: the small pack, each kind, each place and each person."""
    yield "shift", Choice()
    for paper in Paper:
        if paper is not Paper.SLIP:
            yield paper.value, Choice((paper,))
    house = plan.day.bakery
    for place_id in (*(one.id for one in house.mixers), *(one.id for one in house.ovens)):
        yield f"place-{place_id}", Choice(place_id=place_id)
    for person in house.people:
        yield f"person-{person.id}", Choice(person_id=person.id)


def write_samples(
    plan: Plan,
    reader: Reader,
    folder: Path,
    size: PaperSize = PaperSize.A4,
    warmer: Plan | None = None,
) -> tuple[list[Path], str]:
    """Write every paper of a plan into a folder.

    Parameters
    ----------
    plan, reader, size
        As for the sheet.
    folder
        Where; made when it is not there.
    warmer
        Another version of the plan, for the slip of what changes.

    Returns
    -------
    files, note
        What was written, and why there is no PDF; empty when there is.
    """
    folder.mkdir(parents=True, exist_ok=True)
    pages = {name: sheet_html(plan, reader, one, size=size) for name, one in sample_choices(plan)}
    if warmer is not None:
        changed = Choice((Paper.SLIP,))
        pages[Paper.SLIP.value] = sheet_html(warmer, reader, changed, before=plan, size=size)
    files, note = [], ""
    for name, page in pages.items():
        files.append(_written(folder / f"{name}.html", page.encode()))
        if note:
            continue
        try:
            files.append(_written(folder / f"{name}.pdf", pdf_of(page)))
        except NoPdfError as error:
            note = str(error)
    return files + _data(plan, reader, folder), note


def _data(plan: Plan, reader: Reader, folder: Path) -> list[Path]:
    rows = paper_rows(plan, reader)
    as_json = [{**asdict(row), "at_utc": row.at_utc.isoformat()} for row in rows]
    tickets = {mix.id: dosing_ticket(plan, mix, reader) for mix in plan.mixes}
    return [
        _written(folder / "day.svg", drawing_file(plan, reader).encode()),
        _written(folder / "rows.csv", rows_csv(rows).encode()),
        _written(folder / "rows.json", _json(as_json)),
        _written(folder / "dosing.json", _json(tickets)),
    ]


def _json(value: object) -> bytes:
    return json.dumps(value, indent=2, ensure_ascii=False).encode()


def _written(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


def next_version(plan: Plan, other: Plan) -> Plan:
    """Return another plan of the same day as the version after a plan."""
    return replace(other, version=plan.version + 1)
