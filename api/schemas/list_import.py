"""A mix list that comes as CSV, and what became of it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from api.schemas.base import Entry
from api.schemas.mix_list import LineInput
from api.schemas.problems import FaultRead
from api.schemas.reader import Read, shown


class ListImport(Entry):
    """A mix list as CSV."""

    csv: Annotated[
        str,
        Field(
            description="The list: its first line names the columns, each other line is an order"
            " or a ready mix. Commas, semicolons or tabs part the columns; decimal comma or point.",
            max_length=1_000_000,
            examples=["Artikel;Menge;Ab\nloaf;96;06:30"],
        ),
    ]
    columns: Annotated[
        dict[str, str],
        Field(
            description="Heading in the list by what it is: `product`, `pieces`, `leave_by`,"
            " `priority`, `id`; for ready mixes `formula`, `dough_kg` (or `dough_lb`),"
            " `bulk_from_min`, `bulk_by_min`, `ready_from`, `ready_by`. What is named so already"
            " need not be told; other columns are ignored.",
            max_length=30,
            examples=[{"product": "Artikel", "pieces": "Menge", "leave_by": "Ab"}],
        ),
    ] = Field(default_factory=dict)
    dry_run: Annotated[
        bool,
        Field(description="Only say what would become of it; store nothing.", examples=[True]),
    ] = False


class ImportedLineRead(Read):
    """One line of the list that could be read."""

    line: Annotated[int, shown("Its number in the list; the head is 1.", 2)]
    entry: Annotated[
        LineInput,
        shown("The order or mix.", {"product": "loaf", "pieces": 96, "leave_by": "06:30"}),
    ]


class ImportRead(Read):
    """What became of a list, or would."""

    stored: Annotated[bool, shown("Whether it is the day's mix list now.", example=False)]
    lines: list[ImportedLineRead]
    faults: Annotated[
        list[FaultRead],
        shown(
            "What is wrong with other lines; a list with a fault is not stored.",
            [
                {
                    "field": "line 3, pieces",
                    "value": "-4",
                    "problem": "is out of range",
                    "remedy": "enter 1 to 100000",
                }
            ],
        ),
    ]
    ignored_columns: Annotated[
        list[str], shown("Headings of columns that are nothing here.", ["Bemerkung"])
    ]
