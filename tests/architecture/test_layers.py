"""The layers hold: read from the syntax tree, so that a slip fails here and not in review.

Each rule is one test that lists every fault as ``file:line: what``, and one that shows that a
fault would be seen.
"""

import ast
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from pathlib import Path

from django.apps import apps

from materials.tools import TOOLS

ROOT = Path(__file__).resolve().parent.parent.parent
APP = ROOT / "materials"

# Layer of a module by its first path part below materials/, or below a tool's own package.
LAYERS = {
    "calc": 0,
    "choices": 1,
    "fields": 1,
    "models": 1,
    "tools": 1,
    "migrations": 1,
    "access": 2,
    "queries": 2,
    "services": 2,
    "tables": 3,
    "forms": 3,
    "exchange": 4,
    "views": 5,
    "words": 5,
    "templatetags": 5,
    "management": 5,
    "registrations": 5,
    "urls": 5,
    "apps": 5,
}
# A tool that another one may build on.
BUILDS_ON = {"estimates": "lifecycle"}
# Where the app is put together: what of a tool each may name.
PUT_TOGETHER = {"models": {"models"}, "urls": {"urls"}, "management": set(LAYERS)}
# What writes a figure on a page is shared by tables, exchange and views; it imports calc only.
SHARED = {"templatetags"}
FILES = sorted(path for path in APP.rglob("*.py") if path.parent.name != "__pycache__")
NOT_MIGRATIONS = [path for path in FILES if "migrations" not in path.parts]

# A line, and what is wrong there.
Fault = tuple[int, str]
Rule = Callable[[ast.Module, Path], Iterable[Fault]]


@cache
def tree_of(path: Path) -> ast.Module:
    """A file's syntax tree, read once for all rules."""
    return ast.parse(path.read_text(encoding="utf-8"))


def faults(rule: Rule, paths: Iterable[Path]) -> list[str]:
    """Every fault of some files."""
    return [
        f"{path.relative_to(ROOT)}:{line}: {what}"
        for path in paths
        for line, what in rule(tree_of(path), path)
    ]


def seen(rule: Rule, source: str, path: str = "services/x.py") -> list[int]:
    """Lines of the faults a rule finds in a text that stands in a file of the app."""
    return [line for line, _ in rule(ast.parse(source), APP / path)]


def tool_and_part(parts: Sequence[str]) -> tuple[str, str]:
    """The tool a module belongs to, or "", and its part: ``calc``, ``models``, ``urls`` …

    ``parts`` are those below the app.
    """
    tool = parts[0] if parts and parts[0] in TOOLS else ""
    rest = parts[1:] if tool else parts
    return tool, rest[0].removesuffix(".py") if rest else ""


def part_of(path: Path) -> str:
    """The part a file belongs to, in a tool's package too."""
    return tool_and_part(path.relative_to(APP).parts)[1]


def layer_of(path: Path) -> int | None:
    """Layer of a file; None where it has none."""
    return LAYERS.get(part_of(path))


def imports(tree: ast.AST, path: Path) -> Iterator[tuple[int, str]]:
    """Line and dotted name of each import, relative ones resolved to ``materials.…``."""
    package = ["materials", *path.relative_to(APP).parts[:-1]]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            stem = ".".join([*base, *(node.module or "").split(".")]).strip(".")
            yield node.lineno, stem
            yield from ((node.lineno, f"{stem}.{alias.name}") for alias in node.names)


def goes_up(tree: ast.Module, path: Path) -> Iterator[Fault]:
    """Every upward or forbidden import."""
    part, here = part_of(path), layer_of(path)
    if here is None:
        if part != "__init__":
            yield 1, f"{part} has no layer"
        return
    for line, name in imports(tree, path):
        pieces = name.split(".")
        if part == "calc":
            top = pieces[0]
            if (
                top in {"django", "random", "time", "os", "pathlib", "io", "socket"}
                or (top == "pint" and path.stem != "units")
                or (top in {"scipy", "numpy"} and path.stem != "solver")
            ):
                yield line, f"calc imports {name}"
        named = tool_and_part(pieces[1:])[1]
        if pieces[0] != "materials" or named in SHARED:
            continue
        there = LAYERS.get(named)
        if there is not None and there > here:
            yield line, f"{part} (layer {here}) imports {name} (layer {there})"


def test_no_import_goes_up():
    assert faults(goes_up, FILES) == []


def test_an_upward_import_would_be_seen():
    assert seen(goes_up, "from ..views import builds")
    assert seen(goes_up, "from django.db import models", "calc/x.py")
    assert seen(goes_up, "from .views import page", "cutting/services.py")
    assert seen(goes_up, "from ..views.base import page", "cutting/queries/plans.py")
    assert seen(goes_up, "from ..cutting.words import say", "services/x.py")
    assert seen(goes_up, "from django.db import models", "cutting/calc/x.py")
    assert not seen(goes_up, "from ..views.base import page", "cutting/views.py")
    assert seen(goes_up, "import pint", "calc/money.py")
    assert not seen(goes_up, "import pint", "calc/units.py")
    assert seen(goes_up, "import scipy", "calc/sourcing.py")
    assert not seen(goes_up, "import scipy", "calc/solver.py")
    assert not seen(goes_up, "from ..calc import money")
    assert seen(goes_up, "", "newcomer/x.py")


@cache
def tool_of_model() -> dict[str, str]:
    """The tool that a model belongs to, by the model's name."""
    return {
        model.__name__: tool_and_part(model.__module__.split(".")[1:])[0]
        for model in apps.get_app_config("materials").get_models()
    }


def leaves_its_room(tree: ast.Module, path: Path) -> Iterator[Fault]:
    """A tool named by the ledger, or by another tool that does not build on it."""
    here, part = tool_and_part(path.relative_to(APP).parts)
    for line, name in imports(tree, path):
        pieces = name.split(".")
        there, named = tool_and_part(pieces[1:])
        if pieces[:2] == ["materials", "models"]:
            # A model is importable from there whichever room it stands in.
            there, named = tool_of_model().get(pieces[-1], ""), "models"
        if pieces[0] != "materials" or there in {"", here, BUILDS_ON.get(here)}:
            continue
        if here or named not in PUT_TOGETHER.get(part, set()) | {""}:
            yield line, f"{here or 'the ledger'} imports {name}"


def test_the_ledger_imports_no_tool_and_no_tool_another():
    assert faults(leaves_its_room, FILES) == []


def test_an_import_across_rooms_would_be_seen():
    assert seen(leaves_its_room, "from ..cutting.services import save_plan")
    assert seen(leaves_its_room, "from ..cutting import calc", "exchange/x.py")
    assert seen(leaves_its_room, "from ..models import Takeoff")
    assert seen(leaves_its_room, "from ..models import CuttingPlan", "takeoffs/services.py")
    assert not seen(leaves_its_room, "from ..models import Build", "takeoffs/services.py")
    assert seen(leaves_its_room, "from ..cutting.calc import plan", "takeoffs/services.py")
    assert seen(leaves_its_room, "from ..estimates.calc import check", "lifecycle/forms.py")
    assert not seen(leaves_its_room, "from ..lifecycle.calc import factors", "estimates/forms.py")
    assert not seen(leaves_its_room, "from .cutting.urls import patterns", "urls.py")
    assert not seen(
        leaves_its_room, "from ..cutting.models import CuttingPlan", "models/__init__.py"
    )
    assert not seen(leaves_its_room, "from ..calc import money", "cutting/services.py")


def makes_floats(tree: ast.Module, _: Path) -> Iterator[Fault]:
    """Calls of ``float(``, and a Decimal or Fraction from a float literal."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            first = node.args[0] if node.args else None
            if isinstance(first, ast.UnaryOp):
                first = first.operand
            is_literal = isinstance(first, ast.Constant) and isinstance(first.value, float)
            if node.func.id == "float" or (node.func.id in {"Decimal", "Fraction"} and is_literal):
                yield node.lineno, ast.unparse(node)


def test_no_float_for_money_or_quantity():
    assert faults(makes_floats, NOT_MIGRATIONS) == []


def test_a_float_would_be_seen():
    assert seen(makes_floats, "x = float(y)") == [1]
    assert seen(makes_floats, "x = Decimal(0.1)") == [1]
    assert seen(makes_floats, "x = Decimal(-0.1)") == [1]
    assert seen(makes_floats, "x = Decimal('0.1')") == []


def reaches_for_managers(tree: ast.Module, path: Path) -> Iterator[Fault]:
    """A model's manager above layer 2."""
    if (layer_of(path) or 0) < 3:
        return
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in {"objects", "_default_manager"}:
            yield node.lineno, ast.unparse(node)


def test_upper_layers_read_through_queries_and_write_through_services():
    assert faults(reaches_for_managers, NOT_MIGRATIONS) == []


def test_a_manager_would_be_seen():
    assert seen(reaches_for_managers, "Build.objects.all()", "views/x.py") == [1]
    assert seen(reaches_for_managers, "Build.objects.all()", "queries/x.py") == []


def knows_requests(tree: ast.Module, path: Path) -> Iterator[Fault]:
    """An import of ``django.http`` by what serves commands as well."""
    if layer_of(path) == 2:
        for line, name in imports(tree, path):
            if name.startswith("django.http"):
                yield line, f"imports {name}"


def test_services_and_queries_know_no_request():
    assert faults(knows_requests, NOT_MIGRATIONS) == []


def test_a_request_would_be_seen():
    assert seen(knows_requests, "from django.http import HttpRequest", "queries/x.py")
    assert not seen(knows_requests, "from django.http import HttpRequest", "views/x.py")


def rounds(tree: ast.Module, path: Path) -> Iterator[Fault]:
    """A call of ``round(``: rounding belongs in one module, ``calc/money.py``."""
    if path == APP / "calc" / "money.py":
        return
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "round":
            yield node.lineno, ast.unparse(node)


def test_only_calc_money_rounds():
    assert faults(rounds, NOT_MIGRATIONS) == []


def test_rounding_would_be_seen():
    assert seen(rounds, "x = 1\ny = round(x, 2)") == [2]
    assert seen(rounds, "y = round(x, 2)", "calc/money.py") == []


def says_nothing(tree: ast.Module, path: Path) -> Iterator[Fault]:
    """A public function without a docstring.

    What explains a figure needs none: the sentence that its ``Trace`` gives says what it is.
    """
    if part_of(path) not in {"calc", "services", "queries", "exchange", "access"}:
        return
    for node in tree.body:
        is_public = isinstance(node, ast.FunctionDef) and node.name[0] != "_"
        explains = is_public and getattr(node.returns, "id", "") == "Trace"
        if is_public and not explains and not ast.get_docstring(node):
            yield node.lineno, node.name


def test_public_functions_say_what_they_do():
    assert faults(says_nothing, NOT_MIGRATIONS) == []


def test_a_missing_docstring_would_be_seen():
    assert seen(says_nothing, "def f(): pass\ndef _g(): pass\ndef h() -> Trace: pass") == [1]
    assert seen(says_nothing, "def f(): 'What it gives.'") == []


def test_no_time_is_set_behind_ones_back():
    """``auto_now_add`` would give a restored row the time of the restoring."""
    found = [
        field
        for model in apps.get_app_config("materials").get_models()
        for field in model._meta.concrete_fields
        if getattr(field, "auto_now_add", False) or getattr(field, "auto_now", False)
    ]
    assert found == []
