"""The layers hold: read from the syntax tree, so that a slip fails here and not in review."""

import ast
from pathlib import Path

import pytest
from django.apps import apps

ROOT = Path(__file__).resolve().parent.parent.parent
APP = ROOT / "materials"

# Layer of a module by its first path part below materials/.
LAYERS = {
    "calc": 0,
    "choices": 1,
    "fields": 1,
    "querysets": 1,
    "models": 1,
    "migrations": 1,
    "access": 2,
    "queries": 2,
    "services": 2,
    "tables": 3,
    "forms": 3,
    "exchange": 4,
    "views": 5,
    "templatetags": 5,
    "management": 5,
    "urls": 5,
    "apps": 5,
}
# What writes a figure on a page is shared by tables, exchange and views; it imports calc only.
SHARED = {"templatetags"}
FILES = sorted(path for path in APP.rglob("*.py") if path.parent.name != "__pycache__")
NOT_MIGRATIONS = [path for path in FILES if "migrations" not in path.parts]


def part_of(path: Path) -> str:
    """First path part below the app: ``calc``, ``models``, ``urls`` …"""
    return path.relative_to(APP).parts[0].removesuffix(".py")


def imports(tree: ast.AST, path: Path) -> list[str]:
    """Dotted names imported, relative ones resolved to ``materials.…``."""
    package = ["materials", *path.relative_to(APP).parts[:-1]]
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            stem = ".".join([*base, *(node.module or "").split(".")]).strip(".")
            found += [stem, *(f"{stem}.{alias.name}" for alias in node.names)]
    return found


def layer_faults(source: str, path: Path) -> list[str]:
    """Every upward or forbidden import of one file."""
    faults = []
    part = part_of(path)
    here = LAYERS.get(part)
    if here is None:
        return [] if part == "__init__" else [f"{part} has no layer"]
    for name in imports(ast.parse(source), path):
        pieces = name.split(".")
        if part == "calc":
            top = pieces[0]
            if top == "django" or (top == "pint" and path.stem != "units"):
                faults.append(f"calc imports {name}")
            if top in {"scipy", "numpy"} and path.stem != "solver":
                faults.append(f"calc imports {name}")
            if top in {"random", "time", "os", "pathlib", "io", "socket"}:
                faults.append(f"calc imports {name}")
        if pieces[0] != "materials" or len(pieces) < 2 or pieces[1] in SHARED:
            continue
        there = LAYERS.get(pieces[1])
        if there is not None and there > here:
            faults.append(f"{part} (layer {here}) imports {name} (layer {there})")
        if here == 1 and pieces[1] in {"queries", "services", "forms"}:
            faults.append(f"{part} imports {name}")
    return faults


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(APP)))
def test_no_import_goes_up(path):
    assert layer_faults(path.read_text(), path) == []


def test_an_upward_import_would_be_seen():
    assert layer_faults("from ..views import builds", APP / "services" / "x.py")
    assert layer_faults("from django.db import models", APP / "calc" / "x.py")
    assert layer_faults("import pint", APP / "calc" / "money.py")
    assert not layer_faults("import pint", APP / "calc" / "units.py")
    assert layer_faults("import scipy", APP / "calc" / "sourcing.py")
    assert not layer_faults("import scipy", APP / "calc" / "solver.py")
    assert not layer_faults("from ..calc import money", APP / "services" / "x.py")


def float_faults(source: str) -> list[int]:
    """Lines that call ``float(`` or build a Decimal from a float literal."""
    lines = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            first = node.args[0] if node.args else None
            if isinstance(first, ast.UnaryOp):
                first = first.operand
            is_literal = isinstance(first, ast.Constant) and isinstance(first.value, float)
            if node.func.id == "float" or (node.func.id in {"Decimal", "Fraction"} and is_literal):
                lines.append(node.lineno)
    return lines


@pytest.mark.parametrize("path", NOT_MIGRATIONS, ids=lambda path: str(path.relative_to(APP)))
def test_no_float_for_money_or_quantity(path):
    assert float_faults(path.read_text()) == []


def test_a_float_would_be_seen():
    assert float_faults("x = float(y)") == [1]
    assert float_faults("x = Decimal(0.1)") == [1]
    assert float_faults("x = Decimal(-0.1)") == [1]
    assert float_faults("x = Decimal('0.1')") == []


def manager_faults(source: str) -> list[int]:
    """Lines that reach for a model's manager."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Attribute) and node.attr in {"objects", "_default_manager"}
    ]


@pytest.mark.parametrize(
    "path",
    [path for path in NOT_MIGRATIONS if LAYERS.get(part_of(path), 0) >= 3],
    ids=lambda path: str(path.relative_to(APP)),
)
def test_upper_layers_read_through_queries_and_write_through_services(path):
    assert manager_faults(path.read_text()) == []


def test_a_manager_would_be_seen():
    assert manager_faults("Build.objects.all()") == [1]


def test_services_and_queries_know_no_request():
    for path in NOT_MIGRATIONS:
        if LAYERS.get(part_of(path)) == 2:
            names = imports(ast.parse(path.read_text()), path)
            assert not [name for name in names if name.startswith("django.http")], path


def test_only_calc_money_rounds():
    """``quantize`` and ``round(`` on money belong in one module."""
    for path in NOT_MIGRATIONS:
        if path.name == "money.py":
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id != "round", f"{path}: {node.lineno}"


def test_public_functions_say_what_they_do():
    """But for those that explain a figure: the sentence they give says what it is."""
    for path in NOT_MIGRATIONS:
        if part_of(path) not in {"calc", "services", "queries", "exchange", "access"}:
            continue
        for node in ast.parse(path.read_text()).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                explains = isinstance(node.returns, ast.Name) and node.returns.id == "Trace"
                assert explains or ast.get_docstring(node), f"{path}: {node.name}"


def test_no_time_is_set_behind_ones_back():
    """``auto_now_add`` would give a restored row the time of the restoring."""
    for model in apps.get_app_config("materials").get_models():
        for field in model._meta.concrete_fields:
            assert not getattr(field, "auto_now_add", False), field
            assert not getattr(field, "auto_now", False), field
