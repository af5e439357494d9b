"""The core is documented throughout, pure where no linter looks, and light to import."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CORE = sorted((ROOT / "planner").rglob("*.py"))


def names(paths):
    """Give test ids."""
    return [str(path.relative_to(ROOT)) for path in paths]


def undocumented(source):
    """List the public functions and classes, with their public methods, without a docstring."""
    module = ast.parse(source)
    missing = [] if ast.get_docstring(module) else ["the module"]
    nodes = [(node, "") for node in module.body]
    while nodes:
        node, owner = nodes.pop()
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        if node.name.startswith("_"):
            continue
        if not ast.get_docstring(node):
            missing.append(owner + node.name)
        if isinstance(node, ast.ClassDef):
            nodes += [(inner, f"{owner}{node.name}.") for inner in node.body]
    return missing


def through_the_door(source):
    """List the lines that import names from `planner` itself instead of from their module."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if (isinstance(node, ast.ImportFrom) and node.module == "planner")
        or (isinstance(node, ast.Import) and "planner" in [name.name for name in node.names])
    ]


def unseeded(source):
    """List the lines that make a random generator without a seed."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and ast.unparse(node.func).rpartition(".")[2] in {"default_rng", "SeedSequence", "PCG64"}
        and not any(
            not (isinstance(given, ast.Constant) and given.value is None)
            for given in [*node.args, *(keyword.value for keyword in node.keywords)]
        )
    ]


def loaded_by(statement, modules):
    """Run a statement in a fresh interpreter; return which of `modules` it brought in."""
    script = f"{statement}; import sys; print(*(set({sorted(modules)!r}) & set(sys.modules)))"
    run = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(run.stdout.split())


@pytest.mark.parametrize("path", CORE, ids=names(CORE))
def test_everything_public_is_documented(path):
    assert undocumented(path.read_text(encoding="utf-8")) == []


def test_a_missing_docstring_is_seen():
    methods = "    def b(self): ...\n    def _c(self): ...\n"
    source = f'"""M."""\nclass A:\n    """A."""\n{methods}def d(): ...\n'
    assert sorted(undocumented(source)) == ["A.b", "d"]
    assert undocumented("x = 1") == ["the module"]


@pytest.mark.parametrize("path", CORE, ids=names(CORE))
def test_inside_the_core_nobody_uses_the_door(path):
    assert through_the_door(path.read_text(encoding="utf-8")) == []


def test_a_use_of_the_door_is_seen():
    source = "import planner\nfrom planner import Formula\nfrom planner.formula import Formula\n"
    assert through_the_door(source) == [1, 2]


@pytest.mark.parametrize("path", CORE, ids=names(CORE))
def test_every_random_generator_has_a_seed(path):
    assert unseeded(path.read_text(encoding="utf-8")) == []


def test_a_generator_without_a_seed_is_seen():
    source = "a = default_rng()\nb = np.random.default_rng(None)\nc = np.random.default_rng(7)\n"
    assert unseeded(source) == [1, 2]


def test_the_door_does_not_load_the_solver():
    """The solver costs more than a second: only a search for a schedule pays it."""
    assert loaded_by("import planner", {"ortools", "pandas", "scipy"}) == set()


def test_the_command_line_loads_nothing_heavy():
    heavy = {"ortools", "pandas", "scipy", "alembic", "weasyprint"}
    assert loaded_by("import api.cli", heavy) == set()


def test_a_heavy_import_is_seen():
    assert loaded_by("import scipy", {"scipy", "weasyprint"}) == {"scipy"}
