"""Pulling forecasts: asks each source that is due, and keeps the last good copy.

A source is not trusted: its answer is bounded in size and time, read by the typed way that was
entered, and checked as if it had been sent in. Nothing of it is told but figures.
"""

from __future__ import annotations

import ipaddress
import json
import socket
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from time import monotonic
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

import structlog
from pydantic import ValidationError
from sqlalchemy import Engine
from sqlmodel import Session

from api.files.faults import faults_of_validation
from api.schemas.forecast import (
    MOST_HOURS,
    DegreeForm,
    ForecastInput,
    ForecastSourceInput,
    TimeForm,
)
from api.store import forecasts
from api.store.engine import for_writing

if TYPE_CHECKING:
    import httpx

MOST_BYTES = 2_000_000
PATIENCE_S = 15.0
"""Longest silence of a source [s]."""
MOST_S = 60.0
"""Longest time for a whole answer, however it trickles [s]."""
CARRY_ANOTHER = tuple(
    map(ipaddress.ip_network, ("::/96", "64:ff9b::/96", "2002::/16", "2001::/32", "fec0::/10"))
)
"""Addresses that lead to one of the old kind inside them, or were once those of a house."""
ZERO_C_IN_K = 273.15
MOST_DEGREES = 1000
"""Beyond it nothing is the temperature of air, in whatever degrees."""
_log = structlog.get_logger()

Resolve = Callable[[str], Sequence[str]]


class SourceError(Exception):
    """A source gave no forecast; the message is a sentence for the baker."""


@dataclass(frozen=True, slots=True)
class Pulled:
    """What became of one pull.

    Attributes
    ----------
    is_new
        Whether the forecast is another than before.
    fault
        Why it failed; None when it did not.
    """

    bakery_id: str
    place: str
    is_new: bool
    fault: str | None


def pull_due(
    engine: Engine,
    now: datetime,
    *,
    transport: httpx.BaseTransport | None = None,
    inside: bool = False,
    resolve: Resolve | None = None,
) -> list[Pulled]:
    """Pull every forecast that is due, and say what became of each. The one door for jobs.

    No session is open while a source is asked.

    Parameters
    ----------
    now
        The moment [UTC].
    transport
        What carries the requests; the network when None.
    inside
        Whether sources may lie in the own network.
    resolve
        Returns the addresses of a host; the system's own when None.
    """
    with Session(engine) as session:
        waiting = forecasts.due(session, now)
    found = []
    for bakery_id, place, source in waiting:
        try:
            # The address that was looked at is the one that is asked: a name could lead elsewhere
            # a moment later.
            address = None if inside else check_outside(source.url, resolve or addresses_of)
            answer = _asked(source.url, transport, address)
            got: ForecastInput | str = read_source(source, answer)
        except SourceError as error:
            got = str(error)
        except Exception:  # noqa: BLE001  one source must not keep the others from being asked
            _log.exception("a source broke the pull", bakery=bakery_id, place=place)
            got = "The source answered with something that cannot be read."
        with Session(for_writing(engine)) as session, session.begin():
            is_new = forecasts.pulled(session, bakery_id, place, got, now)
        fault = got if isinstance(got, str) else None
        _log.info("forecast pulled", bakery=bakery_id, place=place, is_new=is_new, fault=fault)
        found.append(Pulled(bakery_id, place, is_new, fault))
    return found


def read_source(source: ForecastSourceInput, answer: bytes) -> ForecastInput:
    """Return the forecast that an answer holds.

    Raises
    ------
    SourceError
        If it does not hold one where the source says.
    """
    try:
        document = json.loads(answer)
    except (ValueError, RecursionError):
        raise SourceError("The source did not answer with JSON.") from None
    times, degrees = _columns(source, document)
    if len(times) != len(degrees):
        raise SourceError(f"The source has {len(times)} times and {len(degrees)} temperatures.")
    read = {}
    for time, degree in zip(times, degrees, strict=True):
        moment = _moment(time, source.time_form)
        if moment.minute == moment.second == 0 and degree is not None:
            read[moment] = _celsius(degree, source.degrees)
    hours = _unbroken(sorted(read.items()))[:MOST_HOURS]
    try:
        return ForecastInput.model_validate(
            {
                "hours": [{"at_utc": at, "temperature_c": value} for at, value in hours],
                "sd_k": source.sd_k,
            }
        )
    except ValidationError as error:
        fault = faults_of_validation(error)[0]
        raise SourceError(
            f"The source is not to be believed: {fault.field} {fault.problem}."
        ) from None


def _columns(source: ForecastSourceInput, document: Any) -> tuple[list[Any], list[Any]]:  # noqa: ANN401  any JSON
    if source.entries is None:
        columns = [_at(document, path) for path in (source.times, source.temperatures)]
        for path, column in zip((source.times, source.temperatures), columns, strict=True):
            if not isinstance(column, list):
                raise SourceError(f"The source has no list at {path!r}.")
        return columns[0], columns[1]
    entries = _at(document, source.entries)
    if not isinstance(entries, list):
        raise SourceError(f"The source has no list at {source.entries!r}.")
    return (
        [_at(one, source.times) for one in entries],
        [_at(one, source.temperatures) for one in entries],
    )


def _at(document: Any, path: str) -> Any:  # noqa: ANN401  any JSON
    found = document
    for step in filter(None, path.split(".")):
        if isinstance(found, dict) and step in found:
            found = found[step]
        elif isinstance(found, list) and step.isdecimal() and int(step[:9]) < len(found):
            found = found[int(step[:9])]
        else:
            raise SourceError(f"The source has nothing at {path!r}.")
    return found


def _moment(time: Any, form: TimeForm) -> datetime:  # noqa: ANN401  any JSON
    try:
        if form is TimeForm.UNIX_SECONDS:
            return datetime.fromtimestamp(float(time), UTC)
        moment = datetime.fromisoformat(str(time))
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
    except (ValueError, TypeError, OverflowError, OSError):
        raise SourceError(f"The source has a time that is none: {str(time)[:40]!r}.") from None


def _celsius(degree: Any, form: DegreeForm) -> float:  # noqa: ANN401  any JSON
    beyond = isinstance(degree, int | float) and abs(degree) > MOST_DEGREES
    if isinstance(degree, bool) or not isinstance(degree, int | float) or beyond:
        told = str(degree)[:40]
        raise SourceError(f"The source has a temperature that is none: {told!r}.")
    if form is DegreeForm.FAHRENHEIT:
        return round((degree - 32) / 1.8, 3)
    if form is DegreeForm.KELVIN:
        return round(degree - ZERO_C_IN_K, 3)
    return float(degree)


def _unbroken(hours: list[tuple[datetime, float]]) -> list[tuple[datetime, float]]:
    """Return the hours up to the first hole."""
    for i in range(1, len(hours)):
        if (hours[i][0] - hours[i - 1][0]).total_seconds() != 3600:
            return hours[:i]
    return hours


def _asked(url: str, transport: httpx.BaseTransport | None, address: str | None) -> bytes:
    """Return what a source answers, asked at one address of its host; at any when None."""
    import httpx  # noqa: PLC0415  only this needs it

    parts: list[bytes] = []
    end = monotonic() + MOST_S
    headers, extensions = {"Accept": "application/json"}, {}
    try:
        asked = httpx.URL(url)
        if address is not None:
            headers["Host"] = asked.netloc.decode("ascii")
            extensions["sni_hostname"] = asked.raw_host.decode("ascii")
            asked = asked.copy_with(host=address)
        with (
            httpx.Client(transport=transport, timeout=PATIENCE_S, trust_env=False) as client,
            client.stream("GET", asked, headers=headers, extensions=extensions) as answer,
        ):
            if answer.status_code != 200:
                raise SourceError(f"The source answered {answer.status_code}.")
            for part in answer.iter_bytes():
                parts.append(part)
                if sum(map(len, parts)) > MOST_BYTES:
                    raise SourceError("The source answered with more than a forecast can be.")
                if monotonic() > end:
                    raise SourceError("The source took too long to answer.")
    except (httpx.HTTPError, httpx.InvalidURL) as error:
        raise SourceError(f"The source cannot be reached: {type(error).__name__}.") from None
    return b"".join(parts)


def check_outside(url: str, resolve: Resolve) -> str:
    """Refuse a source that lies in the own network: it would be asked in the service's name.

    Returns
    -------
    str
        The address that is to be asked.

    Raises
    ------
    SourceError
        If it does, or its host has no address.
    """
    try:
        found = list(resolve(urlsplit(url).hostname or ""))
    except (OSError, ValueError):  # a name that no network can write is a ValueError
        found = []
    if not found:
        raise SourceError("The source cannot be reached: its host has no address.")
    for one in found:
        address = ipaddress.ip_address(one.partition("%")[0])
        carries = any(address in net for net in CARRY_ANOTHER if net.version == address.version)
        if not address.is_global or address.is_multicast or carries:
            raise SourceError(
                "The source lies in the own network; the operator must allow that"
                " (OVENWARD_PULL_INSIDE)."
            )
    return found[0]


def addresses_of(host: str) -> list[str]:
    """Return the addresses of a host, as the system knows them."""
    return [str(one[4][0]) for one in socket.getaddrinfo(host, None)]
