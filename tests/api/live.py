"""A service that really listens, in a thread of the tests: streams cannot be read otherwise."""

from __future__ import annotations

import json
import threading
import urllib.request
from contextlib import contextmanager
from time import monotonic, sleep

import uvicorn

from api.main import end_streams_first


@contextmanager
def listening(app):
    """Serve an app on a free port of this machine; gives its address and the server."""
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="error"))
    end_streams_first(server, app)
    thread = threading.Thread(target=server.run)
    thread.start()
    end = monotonic() + 30
    while not server.started and thread.is_alive() and monotonic() < end:
        sleep(0.01)
    try:
        port = server.servers[0].sockets[0].getsockname()[1]
        yield f"http://127.0.0.1:{port}", server
    finally:
        server.handle_exit(2, None)
        thread.join(20)
        assert not thread.is_alive(), "the service did not stop"


def events_from(address, count, headers=None, once_open=lambda: None):
    """Read so many server-sent events: for each a dict of its fields, its data as JSON.

    `once_open` is called when the stream has begun.
    """
    request = urllib.request.Request(address, headers=headers or {})  # noqa: S310  http only
    found, fields = [], {}
    end = monotonic() + 30
    with urllib.request.urlopen(request, timeout=20) as answer:  # noqa: S310  http only
        for i, raw in enumerate(answer):
            assert monotonic() < end, f"only {found} came"
            name, _, value = raw.decode().rstrip("\n").partition(": ")
            if name in {"id", "event", "data"}:
                fields[name] = json.loads(value) if name == "data" else value
            elif not name and fields:
                found.append(fields)
                fields = {}
                if len(found) == count:
                    return found
            if i == 0:
                once_open()
    return found
