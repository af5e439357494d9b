"""Whether the service and its database answer."""

from sqlalchemy import make_url
from sqlalchemy.exc import OperationalError


def test_a_service_with_its_database_is_well(client, address):
    well = client.get("/api/v1/health")
    assert (well.status_code, well.json()) == (
        200,
        {"database": make_url(address).get_backend_name()},
    )


def test_a_service_without_its_database_says_so(client, monkeypatch):
    """Nothing is asked of a database that cannot be reached: opening a connection fails."""

    def gone():
        raise OperationalError("connect", {}, Exception("refused"))

    monkeypatch.setattr(client.app.state.services.engine.pool, "connect", gone)
    ill = client.get("/api/v1/health")
    assert (ill.status_code, ill.json()["type"]) == (503, "/problems/no-database")


def test_a_process_that_answers_is_alive_whatever_its_database_does(client, monkeypatch):
    def gone():
        raise OperationalError("connect", {}, Exception("refused"))

    assert client.get("/readyz").json() == {"status": "ready"}
    monkeypatch.setattr(client.app.state.services.engine.pool, "connect", gone)
    assert client.get("/healthz").status_code == 200
    assert client.get("/readyz").status_code == 503


def test_a_service_that_was_told_to_stop_is_not_ready(client):
    client.app.state.services.hub.close()
    told = client.get("/readyz")
    assert (told.status_code, told.json()["type"]) == (503, "/problems/stopping")
    assert client.get("/healthz").status_code == 200
