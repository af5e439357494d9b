"""Handing new events to the streams that are open, each once and in order.

One reader per process asks the database for what is new, when somebody here has written and once
a second for what others wrote; the streams share what it read. No stream holds a session.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field

import structlog
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlmodel import Session

from api.schemas.events import EventRead
from api.store import events

_log = structlog.get_logger()

KEPT = 512
"""Events of a bakery that streams share; older ones are read from the database."""
AT_ONCE = 200
"""Events read in one go."""
POLL_S = 1.0
LASTS_S = 900.0
"""A stream that is followed longer is asked for anew [s]."""


@dataclass(slots=True)
class _Watched:
    """The events of one bakery that some stream follows."""

    last: int
    streams: int = 0
    recent: deque[EventRead] = field(default_factory=lambda: deque(maxlen=KEPT))


class EventHub:
    """Follows the events of bakeries for as many streams as there are.

    Parameters
    ----------
    engine
        The database.
    poll_s
        Seconds after which it looks by itself for what other processes wrote [s].
    """

    def __init__(self, engine: Engine, poll_s: float = POLL_S) -> None:
        self._engine = engine
        self._poll_s = poll_s
        self._watched: dict[str, _Watched] = {}
        self._woken = asyncio.Event()
        self._news = asyncio.Condition()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._closed = False

    def wake(self) -> None:
        """Say that something was written; from any thread, and never in the way of the writer."""
        loop = self._loop
        if loop is not None:
            with suppress(RuntimeError):  # the loop ends as the service stops
                loop.call_soon_threadsafe(self._woken.set)

    def close(self) -> None:
        """End every stream, so that the service can stop."""
        self._closed = True
        self.wake()

    @property
    def is_closed(self) -> bool:
        """Whether it gives no events any more, as the service stops."""
        return self._closed

    async def run(self) -> None:
        """Read what is new until closed; runs beside the requests."""
        self._loop = asyncio.get_running_loop()
        while not self._closed:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._woken.wait(), self._poll_s)
            self._woken.clear()
            try:
                await self._read_new()
            except OperationalError:
                await _log.awarning("events could not be read; trying again")
        await self._tell()

    async def follow(
        self, bakery_id: str, after: int, lasts_s: float = LASTS_S
    ) -> AsyncIterator[EventRead]:
        """Give every event of a bakery after a number, and then each as it comes, for a while.

        Whoever follows then asks again, and misses none; a right that was taken away ends there.
        """
        loop = asyncio.get_running_loop()
        end = loop.time() + lasts_s
        with self._watching(bakery_id) as watched:
            while not self._closed and loop.time() < end:
                found = await self._after(bakery_id, watched, after)
                for one in found:
                    yield one
                    after = one.number
                if not found:
                    with suppress(TimeoutError):
                        await asyncio.wait_for(self._wait(watched, after), end - loop.time())

    @contextmanager
    def _watching(self, bakery_id: str) -> Iterator[_Watched]:
        # Whoever comes first starts without knowing the last number: the next reading finds it.
        watched = self._watched.setdefault(bakery_id, _Watched(last=-1))
        watched.streams += 1
        self._woken.set()
        try:
            yield watched
        finally:
            watched.streams -= 1
            if not watched.streams:
                self._watched.pop(bakery_id, None)

    async def _after(self, bakery_id: str, watched: _Watched, after: int) -> list[EventRead]:
        if watched.recent and watched.recent[0].number <= after + 1:
            return [one for one in watched.recent if one.number > after]
        if 0 <= watched.last <= after:
            return []
        return await asyncio.to_thread(self._read, bakery_id, after)

    async def _wait(self, watched: _Watched, after: int) -> None:
        async with self._news:
            await self._news.wait_for(lambda: self._closed or watched.last > after)

    async def _read_new(self) -> None:
        found = False
        for bakery_id, watched in list(self._watched.items()):
            if watched.last < 0:
                watched.last = await asyncio.to_thread(self._read_last, bakery_id)
                found = True
            while new := await asyncio.to_thread(self._read, bakery_id, watched.last):
                watched.recent.extend(new)
                watched.last = new[-1].number
                found = True
        if found:
            await self._tell()

    async def _tell(self) -> None:
        async with self._news:
            self._news.notify_all()

    def _read(self, bakery_id: str, after: int) -> list[EventRead]:
        with Session(self._engine) as session:
            return events.after(session, bakery_id, after, AT_ONCE)

    def _read_last(self, bakery_id: str) -> int:
        with Session(self._engine) as session:
            return events.last(session, bakery_id)
