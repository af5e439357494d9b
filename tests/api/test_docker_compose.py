"""docker-compose.yml fits the service. No engine is at hand in tests: it is read, not run."""

import re
import tomllib
from pathlib import Path

import pytest
import yaml

from api.access import NEEDS
from api.settings import PREFIX, Settings, variable

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def compose():
    return yaml.safe_load((ROOT / "docker-compose.yml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def service(compose):
    return compose["services"]["service"]


@pytest.fixture(scope="module")
def recipe(service):
    return service["build"]["dockerfile_inline"]


def test_every_variable_of_the_service_is_a_setting(service):
    named = {name for name in service["environment"] if name.startswith(PREFIX)}
    assert named == set(service["environment"])
    assert named <= {variable(field) for field in Settings.model_fields}


def test_the_variables_make_valid_settings(service, monkeypatch):
    for name, value in service["environment"].items():
        monkeypatch.setenv(name, value.replace("${POSTGRES_PASSWORD}", "secret"))
    settings = Settings()
    assert settings.address.startswith("postgresql://")
    assert settings.host == "0.0.0.0"  # noqa: S104  inside its container, reached by the port below


def test_each_replica_has_a_port_of_this_machine_only(service):
    first, last = 8000, 8000 + service["deploy"]["replicas"] - 1
    port = service["environment"]["OVENWARD_PORT"]
    assert service["ports"] == [f"127.0.0.1:{first}-{last}:{port}"]


def test_the_image_starts_a_command_that_exists(recipe):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    command, subcommand = re.search(r'CMD \["(\w+)", "(\w+)"\]', recipe).groups()
    assert command in project["scripts"]
    assert subcommand == "serve"
    extras = re.search(r'"\.\[([\w,]+)\]"', recipe)[1].split(",")
    assert set(extras) <= set(project["optional-dependencies"])


def test_the_image_copies_what_exists(recipe):
    copied = [words for line in re.findall(r"COPY (.+)", recipe) if (words := line.split()[:-1])]
    for path in (path for words in copied for path in words):
        assert (ROOT / path).exists(), path


def test_the_image_has_the_python_that_the_project_asks_for(recipe):
    assert re.search(r"FROM python:3\.(\d+)", recipe)[1] == "11"


def test_the_service_waits_for_a_database_that_answers(compose, service):
    assert service["depends_on"]["database"]["condition"] == "service_healthy"
    assert compose["services"]["database"]["healthcheck"]["test"][1] == "pg_isready"


def test_the_health_check_asks_a_route_that_exists(service):
    asked = re.search(r"http://127\.0\.0\.1:(\d+)(/[\w/]+)", service["healthcheck"]["test"][-1])
    assert asked[1] == service["environment"]["OVENWARD_PORT"]
    assert f"GET {asked[2]}" in NEEDS


def test_the_health_check_is_python_that_compiles(service):
    compile(service["healthcheck"]["test"][-1], "healthcheck", "exec")


def test_the_database_outlives_its_container(compose):
    mounted = [volume.split(":")[0] for volume in compose["services"]["database"]["volumes"]]
    assert set(mounted) <= set(compose["volumes"])


def test_no_password_is_written_down(compose):
    assert compose["services"]["database"]["environment"]["POSTGRES_PASSWORD"].startswith("${")
