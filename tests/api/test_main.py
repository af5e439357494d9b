"""The service starts from nothing, stops when told, and loads nothing from elsewhere."""

import os
import signal
import subprocess
import sys
import urllib.request
from time import monotonic, sleep

import pytest
from fastapi.testclient import TestClient

from api.main import create_app, serve
from api.settings import Settings
from tests.api.fake_core import FakeCore


def test_a_first_start_makes_its_own_folder_and_file(tmp_path):
    settings = Settings(data_dir=tmp_path / "new", demo=True)
    with TestClient(create_app(settings, core=FakeCore())) as client:
        assert client.get("/api/v1/health").status_code == 200
    assert (tmp_path / "new" / "ovenward.sqlite3").exists()


def test_a_second_start_finds_what_the_first_stored(tmp_path):
    bakery = {
        "name": "Weir",
        "zone": "Europe/Vienna",
        "mixers": [{"name": "bowl", "kind": "hand and bowl", "max_dough_kg": 4}],
        "water": [{"kind": "tap", "temperature_c": 15}],
        "flour_stores": [{"name": "bag", "kind": "sack"}],
    }
    for expected in (201, 200):
        with TestClient(
            create_app(Settings(data_dir=tmp_path, demo=True), core=FakeCore())
        ) as client:
            assert client.put("/api/v1/bakeries/weir", json=bakery).status_code == expected


def test_the_settings_reach_the_server(monkeypatch):
    """Without a limit on stopping, one open stream would keep the service alive for good."""
    served = []

    def run(server):
        server.started = True
        served.append(server.config)

    monkeypatch.setattr("uvicorn.Server.run", run)
    serve(Settings(host="127.0.0.1", port=8123, shutdown_s=4, log_level="warning"))
    (config,) = served
    assert config.app.title == "Ovenward"
    assert (config.host, config.port) == ("127.0.0.1", 8123)
    assert (config.log_level, config.timeout_graceful_shutdown) == ("warning", 4)


def test_a_service_that_cannot_start_says_so_by_its_exit_code(monkeypatch):
    monkeypatch.setattr("uvicorn.Server.run", lambda _: None)
    with pytest.raises(SystemExit, match="3"):
        serve(Settings())


def test_no_page_of_the_framework_loads_a_script_from_elsewhere(tmp_path):
    with TestClient(create_app(Settings(data_dir=tmp_path, demo=True), core=FakeCore())) as client:
        assert client.get("/docs").status_code == client.get("/redoc").status_code == 404
        assert client.get("/api/v1/openapi.json").json()["info"]["title"] == "Ovenward"


def test_it_starts_answers_and_stops_as_a_process(tmp_path):
    """The limits only end the test: a busy machine takes long to start it."""
    port = 20_000 + os.getpid() % 20_000
    command = "from api.main import serve; from api.settings import Settings; serve(Settings())"
    environment = os.environ | {"OVENWARD_DATA_DIR": str(tmp_path), "OVENWARD_PORT": str(port)}
    process = subprocess.Popen([sys.executable, "-c", command], env=environment)
    try:
        assert heard(f"http://127.0.0.1:{port}/api/v1/health", seconds=90)
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=30)
    finally:
        process.kill()
        process.wait()


def heard(address, seconds):
    end = monotonic() + seconds
    while monotonic() < end:
        try:
            with urllib.request.urlopen(address, timeout=2) as answer:  # noqa: S310  http only
                return answer.status == 200
        except OSError:
            sleep(0.1)
    return False
