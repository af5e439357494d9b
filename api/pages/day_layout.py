"""Where everything of a day's drawing lies: blocks, their numbers and brackets, sheet by sheet.

Each block has a footprint: the block itself, its bracket, and its number where that stands outside
of it. Footprints of one place are laid so that none meets another; so no block covers a block and
no letter a letter. What does not fit on one sheet goes on overleaf, by the hour.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from math import inf

from api.pages.day_blocks import Block, BlockForm, Column
from api.pages.letters import broken, longest_word, width_of

WIDTH, HEIGHT = 760.0, 990.0
TOP, BOTTOM = 96.0, 896.0
FIRST_COLUMN_X, COLUMN_GAP, COLUMN_LEAST = 140.0, 12.0, 30.0
LINE = 20.0
"""Height of a line of letters, of which capitals are 3.3 mm on a sheet."""

BESIDE, BRACKET, BETWEEN = 3.0, 6.0, 2.5
"""Room between a block and its number, for a bracket, and between two that stand side by side."""

SHIFTED = 0.25
"""A block rather widens its column by a quarter of what it would else stand off the left edge."""

BETWEEN_HEADS = 9.0
APART = 4.0
"""Room behind a number: it stands nearer to its own block than to the next."""

LEAST_WIDTH, LEAST_HEIGHT = 4.0, 2.5
"""No block is drawn narrower or lower than this, so that it is seen."""

HEAVIEST_LEAST = 8.0
"""On a sheet the heaviest block is at least so wide: else its width would tell nothing."""

HEAVIEST_MOST, HALVINGS = 130.0, 8
"""The heaviest block is at most so wide; how often the best width of a kilogram is halved in on."""

MOST_SHEETS = 6
CUTS = (0, 1, -1, 2, -2, 3)
"""A sheet ends where about as much has begun as on the others, or, of two, so many hours later."""

HEAD_LINES, HOLDS_LINES = 4, 2
ONE_HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Box:
    """An upright area of the drawing."""

    x: float
    y: float
    width: float
    height: float

    def meets(self, other: Box) -> bool:
        """Return whether two areas share more than an edge.

        Examples
        --------
        >>> Box(0, 0, 10, 10).meets(Box(10, 0, 5, 5)), Box(0, 0, 10, 10).meets(Box(9, 9, 5, 5))
        (False, True)
        """
        return (
            self.x < other.x + other.width - 1e-6
            and other.x < self.x + self.width - 1e-6
            and self.y < other.y + other.height - 1e-6
            and other.y < self.y + self.height - 1e-6
        )


@dataclass(frozen=True, slots=True)
class Frame:
    """The hours of one sheet."""

    start_utc: datetime
    end_utc: datetime

    def y(self, moment: datetime) -> float:
        """Return the height of a moment, kept inside the sheet."""
        share = (moment - self.start_utc) / (self.end_utc - self.start_utc)
        return float(TOP + (BOTTOM - TOP) * min(max(share, 0.0), 1.0))

    def shows(self, block: Block) -> bool:
        """Return whether some of a block lies in these hours."""
        return block.start_utc < self.end_utc and block.end_utc > self.start_utc


@dataclass(frozen=True, slots=True)
class Spot:
    """A block with its place.

    Attributes
    ----------
    box
        The block itself.
    label
        Where its number stands; along the block for what is prepared ahead.
    bracket
        Where its window is marked; None where it ends on another sheet, or has none.
    is_open
        Whether its window stays open.
    """

    block: Block
    box: Box
    label: Box
    bracket: Box | None
    is_open: bool = False

    @property
    def is_inside(self) -> bool:
        """Whether its number stands in the block."""
        return self.label.meets(self.box)

    @property
    def is_along(self) -> bool:
        """Whether its name stands along it, turned."""
        return self.label.height > self.label.width and self.label.height > LINE

    @property
    def footprint(self) -> tuple[Box, ...]:
        """The areas that nothing else of its place may meet."""
        beside = (
            () if self.is_inside and self.block.form is not BlockForm.PREPARE else (self.label,)
        )
        return (self.box, *beside, *(() if self.bracket is None else (self.bracket,)))

    @property
    def right(self) -> float:
        """Its right edge."""
        return max(area.x + area.width for area in self.footprint)


@dataclass(frozen=True, slots=True)
class Strip:
    """A column of one sheet, with its head broken into lines, and what it holds under it."""

    column: Column
    x: float
    width: float
    head: tuple[str, ...]
    holds: tuple[str, ...]
    spots: tuple[Spot, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of the day."""

    frame: Frame
    strips: tuple[Strip, ...]
    number: int
    count: int

    @property
    def width(self) -> float:
        """Its width: that of the paper, but for a plant that fits on none."""
        ends = [strip.x + strip.width for strip in self.strips]
        return max(WIDTH, *ends, 0.0)


@dataclass(frozen=True, slots=True)
class Style:
    """How names are written.

    Attributes
    ----------
    along
        Whether names of what is prepared ahead stand along it, or beside its beginning.
    head_most
        How wide the longest word of a head may make its column; a longer one is parted.
    """

    along: bool = True
    head_most: float = 100.0


STYLES = (Style(), Style(along=False), Style(head_most=60.0), Style(along=False, head_most=60.0))


def sheets_of(columns: Sequence[Column], hours: tuple[datetime, datetime]) -> tuple[Sheet, ...]:
    """Return the sheets on which a day fits: one, or as many as it needs.

    Parameters
    ----------
    columns
        Places with their blocks.
    hours
        The hours to draw where there are no blocks.
    """
    blocks = [block for column in columns for block in column.blocks]
    whole = _whole(blocks, hours)
    heaviest = max((block.mass_kg for block in blocks), default=1.0)
    widths = HEAVIEST_LEAST / heaviest, HEAVIEST_MOST / heaviest
    ways = [
        (_frames(blocks, whole, count, later), style)
        for count in range(1, max(1, min(MOST_SHEETS, len(blocks))) + 1)
        for later in (CUTS if count == 2 else CUTS[:1])
        for style in STYLES
    ]
    good = (
        way for way in ways if all(_fits(columns, frame, widths[0], way[1]) for frame in way[0])
    )
    frames, style = next(good, ways[-1])
    scale = min(_scale(columns, frame, widths, style) for frame in frames)
    return tuple(
        Sheet(frame, strips_of(columns, frame, scale, style), number, len(frames))
        for number, frame in enumerate(frames, 1)
    )


def _whole(blocks: Sequence[Block], hours: tuple[datetime, datetime]) -> Frame:
    start = min((block.start_utc for block in blocks), default=hours[0])
    end = max((block.end_utc for block in blocks), default=hours[1])
    first = start.replace(minute=0, second=0, microsecond=0)
    last = (end + timedelta(minutes=59)).replace(minute=0, second=0, microsecond=0)
    return Frame(first, max(last, first + ONE_HOUR))


def _frames(blocks: Sequence[Block], whole: Frame, count: int, later: int) -> list[Frame]:
    """Return the hours cut so that about as much begins on each sheet, or some hours later."""
    begins = sorted(block.start_utc for block in blocks)
    cuts = [begins[len(begins) * i // count] + later * ONE_HOUR for i in range(1, count)]
    rounded = sorted({cut.replace(minute=0, second=0, microsecond=0) for cut in cuts})
    inside = [cut for cut in rounded if whole.start_utc < cut < whole.end_utc]
    ends = [whole.start_utc, *inside, whole.end_utc]
    return [Frame(first, last) for first, last in pairwise(ends)]


def _fits(columns: Sequence[Column], frame: Frame, per_kg: float, style: Style) -> bool:
    """Return whether all columns stand beside each other; the fullest is looked at first, alone."""
    fullest = max(columns, key=lambda one: sum(frame.shows(b) for b in one.blocks), default=None)
    if fullest is None:
        return True
    shown = [block for block in fullest.blocks if frame.shows(block)]
    alone = packed(shown, FIRST_COLUMN_X, frame, per_kg, along=style.along, most_x=WIDTH)
    if any(spot.right > WIDTH for spot in alone):
        return False
    strips = strips_of(columns, frame, per_kg, style, most_x=WIDTH)
    return not strips or strips[-1].x + strips[-1].width <= WIDTH


def _scale(
    columns: Sequence[Column], frame: Frame, widths: tuple[float, float], style: Style
) -> float:
    """Return about the widest kilogram with which all columns fit beside each other."""
    low, high = widths
    for _ in range(HALVINGS):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if _fits(columns, frame, middle, style) else (low, middle)
    return low


def strips_of(
    columns: Sequence[Column],
    frame: Frame,
    per_kg: float,
    style: Style = STYLES[0],
    *,
    most_x: float = inf,
) -> tuple[Strip, ...]:
    """Return the columns of one sheet from left to right; those without a block in it are left out.

    Parameters
    ----------
    columns, frame
        Places and hours.
    per_kg
        Width of a kilogram.
    style
        How names are written.
    most_x
        Where to stop: columns after the first that reaches beyond it are left out.
    """
    strips: list[Strip] = []
    x = FIRST_COLUMN_X
    used_here = [one for one in columns if any(frame.shows(block) for block in one.blocks)]
    for column in used_here:
        shown = [block for block in column.blocks if frame.shows(block)]
        beyond = 0.0 if column is used_here[-1] else COLUMN_GAP - BETWEEN_HEADS
        spots = packed(shown, x, frame, per_kg, along=style.along)
        right = max(spot.right for spot in spots) - x
        longest = max(longest_word(column.name), longest_word(column.holds))
        width = max(right, COLUMN_LEAST, min(longest, style.head_most) - beyond)
        holds = broken(column.holds, width + beyond + 1e-6, HOLDS_LINES)
        head = broken(column.name, width + beyond + 1e-6, HEAD_LINES - len(holds))
        strips.append(Strip(column, x, width, head, holds, spots))
        if x + width > most_x:
            break
        x += width + COLUMN_GAP
    return tuple(strips)


def packed(
    blocks: Iterable[Block],
    x: float,
    frame: Frame,
    per_kg: float,
    *,
    along: bool = True,
    most_x: float = inf,
) -> tuple[Spot, ...]:
    """Return the blocks of a place side by side, each as far left as it meets no other.

    Parameters
    ----------
    blocks
        The blocks.
    x
        Left edge of the place.
    frame, per_kg
        Hours, and the width of a kilogram.
    along
        Whether names of what is prepared ahead stand along it, or beside its beginning.
    most_x
        Where to stop: what comes after the first block that reaches beyond it is left out.
    """
    spots: list[Spot] = []
    taken: list[Box] = []
    for block in sorted(blocks, key=lambda b: (b.start_utc, -b.mass_kg, b.mark, b.form)):
        near = [area for area in taken if area.y + area.height > frame.y(block.start_utc) - LINE]
        spot: Spot | None = None
        for left in sorted({x, *(area.x + area.width + BETWEEN for area in near)}):
            if spot is not None and left + SHIFTED * (left - x) >= _room(spot, x):
                break
            free = [
                one
                for one in _spots(block, left, frame, per_kg, along=along)
                if spot is None or _room(one, x) < _room(spot, x) - 1e-6
                if _is_clear(one, near)
            ]
            spot = min(free, key=lambda one: _room(one, x), default=spot)
        if spot is None:  # the last left edge is free of all others
            raise AssertionError("no place beside everything")
        spots.append(spot)
        taken += spot.footprint
        if spot.right > most_x:
            break
    return tuple(spots)


def _room(spot: Spot, x: float) -> float:
    """Return what a place takes: its right edge, and somewhat more where it stands off the left."""
    return spot.right + SHIFTED * (spot.box.x - x)


def _is_clear(spot: Spot, near: Sequence[Box]) -> bool:
    """Return whether nothing that stands near meets a footprint or the room kept beside it."""
    own = [_wider(area) for area in spot.footprint]
    return not any(area.meets(one) for one in own for area in near)


def _wider(area: Box) -> Box:
    """Return an area with the room that is kept on its left and right."""
    return Box(area.x - BETWEEN, area.y, area.width + 2 * BETWEEN, area.height)


def _spots(block: Block, x: float, frame: Frame, per_kg: float, *, along: bool) -> list[Spot]:
    """Return the ways to draw a block at a left edge: its number in it, or beside, above, below."""
    top, bottom = frame.y(block.start_utc), frame.y(block.end_utc)
    box = Box(x, top, max(block.mass_kg * per_kg, LEAST_WIDTH), max(bottom - top, LEAST_HEIGHT))
    if block.form is BlockForm.PREPARE and along:
        return [_along(block, box, frame)]
    bracket, is_open = _bracket(block, box, frame)
    long, high = width_of(block.mark) + APART, LINE - 3
    inside = Box(x + 3, top + 1, long, high)
    is_clear = bracket is None or not inside.meets(bracket)
    if box.width >= long + 5 - APART and box.height >= high + 1 and is_clear:
        return [Spot(block, box, inside, bracket, is_open)]
    end = top + box.height
    beside = x + box.width + BESIDE
    places = [
        (beside, top + box.height / 2 - high / 2),
        (beside, top),
        (x, top - high - 2),
        (x, end + 2),
        (beside, end - high),
    ]
    if block.form is BlockForm.PREPARE:
        places = [
            (beside, top),
            (x, top - high - 2),
            (beside, top + high),
            (beside, top + 2 * high),
        ]
    labels = [Box(left, y, long, high) for left, y in places if TOP - 5 <= y <= BOTTOM - high + 5]
    spots = [Spot(block, box, label, bracket, is_open) for label in labels]
    free = [s for s in spots if bracket is None or not s.label.meets(bracket)]
    return free or [Spot(block, box, labels[0], None)]


def _along(block: Block, box: Box, frame: Frame) -> Spot:
    """Return what is prepared ahead, with its name along it; a long name goes on below it."""
    words = width_of(block.mark) + 8
    wide = Box(box.x, box.y, max(box.width, LINE), box.height)
    label = Box(wide.x + (wide.width - LINE) / 2, max(TOP, min(box.y, BOTTOM - words)), LINE, words)
    bracket, is_open = _bracket(block, wide, frame)
    return Spot(block, wide, label, bracket, is_open)


def _bracket(block: Block, box: Box, frame: Frame) -> tuple[Box | None, bool]:
    """Return where a window is marked, and whether it stays open long after the block's end."""
    if block.window is None or not frame.start_utc <= block.end_utc <= frame.end_utc:
        return None, False
    first, last = block.window
    is_open = last > block.end_utc + ONE_HOUR
    top = frame.y(min(first, block.end_utc) if is_open else first)
    end = frame.y(block.end_utc if is_open else max(last, first))
    x = max(box.x, box.x + box.width - BRACKET)
    return Box(x, top, BRACKET, max(end - top, LEAST_HEIGHT)), is_open
