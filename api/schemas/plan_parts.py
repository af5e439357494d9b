"""Parts of a plan by themselves: a mix as it is now, what to read first, what a version changes."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from api.pages.alerts import Alert
from api.pages.changes import ChangedThing, Slip
from api.pages.mix_ticket import BigNumber
from api.pages.wording import Units
from api.schemas.mixes import MixRead
from api.schemas.reader import Read, shown
from api.schemas.readings import ReadingRead


class NumberRead(Read):
    """One of the five numbers of a mix, as it is printed."""

    label: Annotated[str, shown("What it is.", "water")]
    value: Annotated[str, shown("The figure as printed; a dash for none.", "20.5")]
    unit: Annotated[str, shown("Its unit.", "°C")]
    under: Annotated[list[str], shown("What stands below it.", ["5 + 6"])]

    @classmethod
    def of(cls, number: BigNumber) -> NumberRead:
        """Return a number of a ticket as it is sent."""
        return cls(
            label=number.label, value=number.value, unit=number.unit, under=list(number.under)
        )


class MixNowRead(Read):
    """A mix of a plan as it is now: with the answer to its last reading."""

    plan_id: Annotated[str, shown("The plan it belongs to.", "weir.2026-07-16.1")]
    units: Annotated[
        Units, shown("Units of the numbers and sentences; other figures are SI with °C.", "metric")
    ]
    numbers: Annotated[
        list[NumberRead],
        shown(
            "The five numbers in the order of the ticket: dough, water, mixing, water, ice.",
            [{"label": "dough", "value": "25.0", "unit": "°C", "under": []}],
        ),
    ]
    mix: MixRead
    answered_by: Annotated[
        str | None,
        shown("Id of the reading that it is the answer to; null while it is as planned.", "r7"),
    ]
    started_at: Annotated[
        datetime | None,
        shown("When its mixer was started, as read; null when not.", "2026-07-15T21:02:00Z"),
    ]
    ended_at: Annotated[
        datetime | None,
        shown("When it came off the mixer, as read; null when not.", "2026-07-15T21:13:00Z"),
    ]
    readings: list[ReadingRead]


class AlertRead(Read):
    """A sentence to read before the work begins."""

    kind: Annotated[str, shown("What it is for.", "take care")]
    about: Annotated[
        str, shown("What it is about; empty for the whole plan.", "mix 3, country dough")
    ]
    text: Annotated[str, shown("The sentence.", "Ice goes in with the water.")]
    is_unmet: Annotated[bool, shown("Whether it tells what cannot be met.", example=False)]
    is_caution: Annotated[bool, shown("Whether it tells what to take care of.", example=True)]

    @classmethod
    def of(cls, alert: Alert) -> AlertRead:
        """Return an alert of a page as it is sent."""
        return cls(
            kind=alert.kind,
            about=alert.about,
            text=alert.text,
            is_unmet=alert.is_unmet,
            is_caution=alert.is_caution,
        )


class ChangedLineRead(Read):
    """One figure that is another now."""

    what: Annotated[str, shown("Which figure.", "water, °C")]
    before: Annotated[str, shown("What it was, as printed; empty when there was none.", "20.5")]
    now: Annotated[str, shown("What it is, as printed; empty when there is none.", "18")]


class ChangedThingRead(Read):
    """A mix or preparation with the figures that are others now."""

    name: Annotated[str, shown("What it is called now.", "mix 3, country dough")]
    old_name: Annotated[str, shown("What it was called before; empty when it is new.", "mix 2")]
    start: Annotated[str, shown("When it starts, by the clock.", "Wed 15 Jul 21:40")]
    has_begun: Annotated[
        bool, shown("Whether it had begun when the version was made.", example=False)
    ]
    lines: list[ChangedLineRead]

    @classmethod
    def of(cls, thing: ChangedThing) -> ChangedThingRead:
        """Return a changed thing of the slip as it is sent."""
        lines = [ChangedLineRead(what=o.what, before=o.before, now=o.now) for o in thing.lines]
        return cls(
            name=thing.name,
            old_name=thing.old_name,
            start=thing.start,
            has_begun=thing.has_begun,
            lines=lines,
        )


class ChangesRead(Read):
    """What one plan says otherwise than another, to the figures that are printed."""

    plan_id: Annotated[str, shown("The plan.", "weir.2026-07-16.2")]
    compared_with: Annotated[
        str | None,
        shown("The plan it is compared with; null when none came before.", "weir.2026-07-16.1"),
    ]
    units: Annotated[Units, shown("Units of the figures.", "metric")]
    things: list[ChangedThingRead]

    @classmethod
    def of(cls, plan_id: str, before: str | None, units: Units, slip: Slip | None) -> ChangesRead:
        """Return a slip as it is sent."""
        things = [] if slip is None else [ChangedThingRead.of(one) for one in slip.things]
        return cls(plan_id=plan_id, compared_with=before, units=units, things=things)
