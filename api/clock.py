"""The one place that asks the time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

Clock = Callable[[], datetime]
"""Returns the moment, in UTC."""


def utc_now() -> datetime:
    """Return the moment [UTC].

    Examples
    --------
    >>> utc_now().utcoffset()
    datetime.timedelta(0)
    """
    return datetime.now(UTC)
