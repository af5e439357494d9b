"""The service as a process of its own, started and killed by others.

`python -m tests.benchmarks.service_process` serves as the environment says, on a clock that may run
fast, so that a night's timers come due within minutes.
"""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from time import monotonic, sleep, time
from typing import Any

from api.clock import Clock
from api.main import create_app, server_of
from api.settings import Settings

FAST_CLOCK = "RUN_CLOCK"
STARTS_WITHIN_S, STOPS_WITHIN_S = 90, 30


@dataclass(frozen=True, slots=True)
class FastClock:
    """A clock that showed `start` at the machine's `real_s`, and has run `speed` times as fast."""

    start: datetime
    real_s: float
    speed: float

    def __call__(self) -> datetime:
        """Return the moment it shows."""
        return self.start + timedelta(seconds=(time() - self.real_s) * self.speed)

    def as_text(self) -> str:
        """Return it as it is handed to another process."""
        return json.dumps([self.start.isoformat(), self.real_s, self.speed])


def clock_of(text: str) -> FastClock:
    """Return the clock that another process handed over."""
    start, real_s, speed = json.loads(text)
    return FastClock(datetime.fromisoformat(start), real_s, speed)


@dataclass(slots=True)
class Child:
    """A service that runs, or did."""

    process: subprocess.Popen[bytes]
    port: int
    log: Path

    def ask(self, method: str, path: str, sent: object = None) -> tuple[int, Any]:
        """Send one request; return the status and what was answered."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            return asked(connection, method, path, sent)
        finally:
            connection.close()

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def stop(self) -> int:
        """Tell it to stop; return its exit code."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(STOPS_WITHIN_S)

    def complaints(self) -> list[str]:
        """Return what it wrote of errors and tracebacks."""
        lines = self.log.read_text(encoding="utf-8").splitlines()
        return [one for one in lines if '"level": "error"' in one or one.startswith("Traceback")]


def asked(
    connection: HTTPConnection,
    method: str,
    path: str,
    sent: object = None,
    headers: dict[str, str] | None = None,
) -> tuple[int, Any]:
    """Send one request over a connection; return the status and what was answered."""
    body = None if sent is None else json.dumps(sent)
    told = {"content-type": "application/json", **(headers or {})}
    connection.request(method, f"/api/v1{path}", body, told)
    answer = connection.getresponse()
    read = answer.read()
    return answer.status, json.loads(read) if read else None


@dataclass(slots=True)
class Launcher:
    """Starts services over one database.

    Attributes
    ----------
    address
        The database.
    folder
        Where their logs go.
    settings
        Of the service, by their names.
    """

    address: str
    folder: Path
    clock: Clock
    settings: dict[str, object] = field(default_factory=dict)
    _children: list[Child] = field(default_factory=list)

    def start(self, address: str | None = None, **settings: object) -> Child:
        """Start a service and wait until it answers."""
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        wanted = {"demo": True, **self.settings, **settings}
        environment = os.environ | {
            "OVENWARD_DATABASE_URL": address or self.address,
            "OVENWARD_PORT": str(port),
            **{f"OVENWARD_{name.upper()}": str(value) for name, value in wanted.items()},
        }
        if isinstance(self.clock, FastClock):
            environment[FAST_CLOCK] = self.clock.as_text()
        log = self.folder / f"service-{len(self._children)}.log"
        with log.open("wb") as written:
            process = subprocess.Popen(
                [sys.executable, "-m", "tests.benchmarks.service_process"],
                env=environment,
                stdout=written,
                stderr=written,
            )
        child = Child(process, port, log)
        self._children.append(child)
        end = monotonic() + STARTS_WITHIN_S
        while process.poll() is None and monotonic() < end:
            try:
                if child.ask("GET", "/health")[0] == 200:
                    return child
            except (OSError, HTTPException):
                sleep(0.05)
        raise AssertionError(f"the service did not start: {log.read_text(encoding='utf-8')}")

    def end(self) -> None:
        """Kill whatever of its services still runs."""
        for child in self._children:
            if child.process.poll() is None:
                child.kill()


@contextmanager
def launcher(address: str, folder: Path, clock: Clock, **settings: object) -> Iterator[Launcher]:
    """Give what starts services; none outlives it."""
    made = Launcher(address, folder, clock, settings)
    try:
        yield made
    finally:
        made.end()


def main() -> None:
    """Serve until told to stop."""
    settings = Settings()
    told = os.environ.get(FAST_CLOCK)
    clock: Clock = (lambda: datetime.now(UTC)) if told is None else clock_of(told)
    server_of(settings, create_app(settings, clock=clock)).run()


if __name__ == "__main__":
    main()
