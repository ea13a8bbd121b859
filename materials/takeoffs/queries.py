"""Reading takeoffs, what they come to, and what of a requirement comes from them."""

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import QuerySet

from ..calc.geometry import Extent
from ..calc.measures import plain
from ..calc.quantities import QuantityError
from ..calc.types import Key
from ..calc.units import UNITS, Dimension
from ..models import Build, Component, Takeoff, TakeoffUse
from ..queries.quantities import exact_base, parsed
from .calc.takeoff import SHAPES, as_kept, work_out
from .calc.types import Figure, Panel, TakeoffError, Worked

# Figures that are kinds of one thing and count together: the struts of a dome of all lengths.
KINDS_OF = {"strut": "Struts", "hub": "Hubs", "face": "Triangles"}
_COMMON = {
    Dimension.LENGTH: "ft",
    Dimension.AREA: "sq ft",
    Dimension.VOLUME: "cu ft",
    Dimension.COUNT: "piece",
}


def list_takeoffs(build: Build) -> QuerySet[Takeoff]:
    """Takeoffs of a build, newest first, with what they went into."""
    return Takeoff.objects.filter(build=build).prefetch_related("uses__component")


def get_takeoff(build: Build, pk: int) -> Takeoff:
    """One takeoff. Raises Takeoff.DoesNotExist."""
    return list_takeoffs(build).get(pk=pk)


def title_of(takeoff: Takeoff) -> str:
    """What its shape is called."""
    shape = SHAPES.get(takeoff.shape)
    return shape.title if shape else "A shape that is not known here"


def worked_of(takeoff: Takeoff) -> Worked:
    """What a stored takeoff comes to, with its drawing. Raises TakeoffError."""
    typed = takeoff.inputs if isinstance(takeoff.inputs, dict) else {}
    return work_out(takeoff.shape, typed)


def measures_of(takeoff: Takeoff) -> list[tuple[str, str]]:
    """What was typed, in the order of the questions; empty answers are left out."""
    shape = SHAPES.get(takeoff.shape)
    typed = takeoff.inputs if isinstance(takeoff.inputs, dict) else {}
    measures = []
    for question in shape.questions if shape else ():
        text = str(typed.get(question.name, "")).strip()
        if text:
            text = dict(question.choices).get(text, text)
            measures.append((question.label, "; ".join(text.splitlines())))
    return measures


def panel_text(panel: Panel) -> str:
    """A kind of triangle as a cutting plan is begun with it: length, width, count, third corner."""
    sizes = [f"{plain(side)} {panel.unit}" for side in (panel.length, panel.width, panel.corner)]
    return "|".join([sizes[0], sizes[1], str(panel.count), sizes[2]])


@dataclass(frozen=True)
class TakeoffShare:
    """One part of a requirement that came from a takeoff; ``base`` in the base unit.

    ``base`` is None where the figure does not convert into it any more.
    """

    use: TakeoffUse
    label: str
    base: Fraction | None


@dataclass(frozen=True)
class Requirement:
    """What a component's requirement is made of. ``rest``: stated by hand beside the takeoffs.

    ``rest`` is below zero where the takeoffs come to more than is required now.
    """

    parts: tuple[TakeoffShare, ...]
    rest: Fraction

    @property
    def is_short(self) -> bool:
        """Whether the requirement was set below what the takeoffs come to."""
        return self.rest < 0

    @property
    def missing(self) -> Fraction:
        """By how much."""
        return -self.rest


def requirement_of(component: Component) -> Requirement | None:
    """The takeoffs behind a component's requirement; None where there are none. One query."""
    uses = TakeoffUse.objects.filter(component=component).select_related("takeoff")
    parts = tuple(TakeoffShare(use, label_of(use), _base(use, component)) for use in uses)
    if not parts:
        return None
    taken = sum((part.base for part in parts if part.base is not None), Fraction(0))
    # What is stored is rounded to six places, each figure and their sum on its own.
    rest = Fraction(component.required_qty or 0) - taken
    is_even = abs(rest) <= Fraction(len(parts) + 1, 10**6)
    return Requirement(parts, Fraction(0) if is_even else rest)


def label_of(use: TakeoffUse) -> str:
    """What the figure of a use is called."""
    return next(
        (row["label"] for row in kept_figures(use.takeoff) if row["key"] == use.figure), use.figure
    )


def kept_figures(takeoff: Takeoff) -> list[dict[str, str]]:
    """Figures as stored; what is no figure is left out."""
    rows = takeoff.figures if isinstance(takeoff.figures, list) else []
    names = ("key", "label", "typed", "formula")
    return [
        row
        for row in rows
        if isinstance(row, dict) and all(isinstance(row.get(name), str) for name in names)
    ]


def _base(use: TakeoffUse, component: Component) -> Fraction | None:
    try:
        return exact_base(use.quantity_text, component)
    except QuantityError:
        return None


def find_stale_takeoffs(build: Build) -> list[str]:
    """One sentence for each takeoff whose stored figures are not what its measures give."""
    stale = []
    for takeoff in Takeoff.objects.filter(build=build).iterator(500):
        try:
            right = as_kept(worked_of(takeoff))
        except TakeoffError as error:
            stale.append(f"takeoff {takeoff}: {error}")
            continue
        if takeoff.figures != right:
            stale.append(f"takeoff {takeoff}: its figures are not what its measures come to.")
    return stale


def find_figure(takeoff: Takeoff, key: str) -> Figure | None:
    """A figure of a takeoff by its key, or None."""
    try:
        worked = worked_of(takeoff)
    except TakeoffError:
        return None
    return next((figure for figure in worked.figures if figure.key == key), None)


def list_extents(build: Build) -> list[Extent]:
    """What the takeoffs of a build come to, by shape and figure; what is in no unit is left out.

    Lengths, areas and volumes are in one unit each, so that builds compare.
    """
    sums: dict[tuple[str, str, str], Fraction] = defaultdict(Fraction)
    labels: dict[tuple[str, str, str], str] = {}
    used: dict[tuple[str, str, str], set[Key]] = defaultdict(set)
    for takeoff in list_takeoffs(build):
        places: dict[str, tuple[str, str, str]] = {}
        for row in kept_figures(takeoff):
            try:
                quantity = parsed(row["typed"])
            except QuantityError:
                continue
            stem = row["key"].partition("-")[0]
            is_kind = stem in KINDS_OF and row["key"] != stem
            unit = _COMMON.get(quantity.unit.dimension, quantity.unit.symbol)
            place = (takeoff.shape, stem if is_kind else row["key"], unit)
            sums[place] += quantity.count * quantity.unit.factor / UNITS[unit].factor
            labels[place] = KINDS_OF[stem] if is_kind else row["label"]
            places[row["key"]] = place
        for use in takeoff.uses.all():
            if use.component_id is not None and use.figure in places:
                used[places[use.figure]].add(use.component_id)
    return [
        Extent(place[0], place[1], labels[place], quantity, place[2], frozenset(used[place]))
        for place, quantity in sums.items()
    ]
