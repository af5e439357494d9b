"""Settings: each described, read from the environment, checked."""

import pytest
from pydantic import ValidationError

from api.settings import Settings, variable


@pytest.fixture(autouse=True)
def no_settings(monkeypatch):
    for name in Settings.model_fields:
        monkeypatch.delenv(variable(name), raising=False)


@pytest.mark.parametrize("name", Settings.model_fields)
def test_every_setting_is_described(name):
    description = Settings.model_fields[name].description
    assert description is not None
    assert description.endswith(".")


def test_a_fresh_service_is_heard_on_this_machine_only():
    """Nobody signs in yet, so nobody else on the network may reach it unasked."""
    assert Settings().host == "127.0.0.1"


def test_the_database_is_a_file_in_the_data_folder(tmp_path):
    assert Settings(data_dir=tmp_path).address == f"sqlite:///{tmp_path}/ovenward.sqlite3"


def test_a_database_address_goes_before_the_file(monkeypatch):
    monkeypatch.setenv("OVENWARD_DATABASE_URL", "postgresql://baker@example.invalid/ovenward")
    assert Settings().address == "postgresql://baker@example.invalid/ovenward"


@pytest.mark.parametrize(
    ("name", "wrong"), [("PORT", "0"), ("WORKERS", "0"), ("LOG_LEVEL", "loud"), ("SOLVE_S", "nan")]
)
def test_an_impossible_setting_is_refused(monkeypatch, name, wrong):
    monkeypatch.setenv(f"OVENWARD_{name}", wrong)
    with pytest.raises(ValidationError):
        Settings()


def test_settings_do_not_change_once_read():
    with pytest.raises(ValidationError):
        Settings().port = 9000


def test_a_search_ends_before_its_plan_counts_as_interrupted():
    assert Settings().solve_s < Settings().stale_s


def test_a_search_longer_than_the_silence_allowed_is_refused():
    with pytest.raises(ValidationError, match="stale_s"):
        Settings(solve_s=200, stale_s=100)
