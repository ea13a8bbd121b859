"""What the decision tools add to the ledger, so that the ledger imports none of them.

A tool is a package of its own with a module ``registrations``, which adds to the lists below
when Django starts. The ledger goes through the lists and knows nothing else of a tool.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from django.db import models

    from .calc.geometry import Extent
    from .models import Build, Change, Component, Lesson

# In the order in which their parts stand on a page.
TOOLS = ("takeoffs", "lifecycle", "cutting", "sourcing", "estimates")


@dataclass(frozen=True, slots=True)
class ComponentPart:
    """What a tool shows on a component's page: a template and what it needs of the component."""

    template: str
    context: Callable[["Build", "Component"], dict[str, Any]]


@dataclass(frozen=True, slots=True)
class LessonPart:
    """What a tool shows on a lesson's page: a template and what it needs of the lesson."""

    template: str
    context: Callable[["Build", "Lesson"], dict[str, Any]]


# Sentences about stored figures that are not what their facts give, for ``check_ledger``.
CHECKS: list[Callable[["Build"], Iterable[str]]] = []
# Work a tool's derived figures out again, after rows came in from a file.
DERIVATIONS: list[Callable[["Build"], None]] = []
# Records that a change made beside its own, which go when it is undone.
MADE_BY_CHANGE: list[Callable[["Change"], Iterable["models.Model"]]] = []
COMPONENT_PARTS: list[ComponentPart] = []
# The measures of the shapes a build is made of.
EXTENTS: list[Callable[["Build"], Iterable["Extent"]]] = []
LESSON_PARTS: list[LessonPart] = []
# Pages that work with what is on hand, by the names of their addresses: the words of the link.
STOCK_PAGES: dict[str, str] = {}


def register_tools() -> None:
    """Let each tool add to the lists; once, when Django starts."""
    for name in TOOLS:
        try:
            import_module(f"materials.{name}.registrations")
        except ModuleNotFoundError as error:
            if error.name != f"materials.{name}.registrations":
                raise
