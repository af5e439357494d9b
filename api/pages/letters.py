"""How wide words are in the drawings: letters as wide as those of the bold face that is shipped."""

from __future__ import annotations

from collections.abc import Sequence

SIZE = 19.5
"""Letters of the drawing: capitals of 3.3 mm when it is as wide as the sheet."""

WIDTHS_EM = (
    ("ijlI,.:;'’|/! ·", 0.28),
    ("ft()-", 0.34),
    ("r°", 0.40),
    ("0123456789aceksvxyzJáàâéèêç…", 0.56),
    ("w", 0.78),
    ("mM", 0.89),
    ("W%", 0.95),
    ("ABCDEFGHKLNOPQRSTUVXYZÄÖÜÑÁÉ", 0.73),
)
"""Widths of letters [em]; all others are 0.62."""

USUAL_EM = 0.62
_EM = {letter: width for letters, width in WIDTHS_EM for letter in letters}


def width_of(text: str) -> float:
    """Return the width of a text, in units of the drawing.

    Examples
    --------
    >>> width_of("10") == 2 * width_of("1")
    True
    >>> width_of("ill") < width_of("mow")
    True
    """
    return SIZE * sum(_EM.get(letter, USUAL_EM) for letter in text)


def broken(text: str, room: float, most: int) -> tuple[str, ...]:
    """Return a text in lines of a width at most; a long word is parted with a hyphen.

    Parameters
    ----------
    text
        Words.
    room
        Width of a line.
    most
        Lines at most; what does not fit in them ends with dots.

    Examples
    --------
    >>> broken("large spiral", 70, 4)
    ('large', 'spiral')
    >>> broken("refrigerator", 70, 4)
    ('refrig-', 'erator')
    """
    lines: list[str] = []
    for whole in text.split():
        word = whole
        if lines and width_of(f"{lines[-1]} {word}") <= room:
            lines[-1] += f" {word}"
            continue
        while width_of(word) > room and len(word) > 2:
            cut = _parted(word, room)
            lines.append(f"{word[:cut]}-")
            word = word[cut:]
        lines.append(word)
    if len(lines) > most:
        lines = [*lines[: most - 1], _dotted(lines[most - 1], room)]
    return tuple(lines)


def _parted(word: str, room: float) -> int:
    """Return after how many letters a word is parted: as many as fit, two at the least."""
    fits = [n for n in range(2, len(word) - 1) if width_of(f"{word[:n]}-") <= room]
    return max(fits, default=min(2, len(word) - 1))


def _dotted(line: str, room: float) -> str:
    kept = line
    while len(kept) > 1 and width_of(f"{kept}…") > room:
        kept = kept[:-1]
    return f"{kept}…"


def longest_word(text: str) -> float:
    """Return the width of the longest word of a text."""
    return max((width_of(word) for word in text.split()), default=0.0)


def widest(texts: Sequence[str]) -> float:
    """Return the width of the widest of some texts."""
    return max((width_of(text) for text in texts), default=0.0)
