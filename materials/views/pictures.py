"""What the pictures show, with the words that say the same."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from ..calc.areas import AreaCost, by_currency
from ..calc.money import split_amount
from ..calc.pictures.bars import (
    Bar,
    BarPicture,
    Measure,
    SharePicture,
    divided,
    measured,
    strip,
    strips,
)
from ..calc.pictures.over_time import by_month, passed_on, running_sum
from ..calc.progress.hours import TaskProgress
from ..calc.progress.money import ElementBudget
from ..calc.progress.needs import NeedsMet
from ..calc.reports import SOURCES, CostSheet, ElementRow, SourceRow
from ..queries.conversions import ConversionPreview
from ..queries.shared_types import SharedElement
from ..templatetags.figures import hours, money_text, percent

ZERO = Fraction(0)


def of_sheet(sheet: CostSheet) -> dict[str, Any]:
    """The pictures of a cost sheet; a picture with nothing to draw is empty."""
    return {"elements": element_strips(sheet.elements), "sources": source_shares(sheet.sources)}


Strips = list[tuple[ElementRow, tuple[Bar, ...]]]


def element_strips(rows: Sequence[ElementRow]) -> Strips:
    """Each element with its bar: its cost against what the same would have cost new."""
    return list(zip(rows, strips([_element(row) for row in rows]), strict=True))


def _element(row: ElementRow) -> Measure:
    """The figures stand beside the bar: it needs no text of its own."""
    figures, new = row.figures, row.figures.retail_equivalent
    pieces = () if new is None else (("paid", figures.priced_cost),)
    return Measure("", pieces, new, "", "", beside=figures.cost - figures.priced_cost)


def source_shares(sources: Sequence[SourceRow]) -> SharePicture | None:
    """Landed cost by source, and beside it what the same would have cost new."""
    rows = {row.source: row for row in sources}
    listed = [rows[source] for source in SOURCES]
    return divided(
        [
            _shares("Landed cost", [(row.source, row.cost) for row in listed]),
            _shares(
                "Retail equivalent",
                [(row.source, row.retail_equivalent or ZERO) for row in listed],
            ),
        ]
    )


def _shares(
    label: str, parts: Sequence[tuple[str, Fraction]]
) -> tuple[str, list[tuple[str, Fraction, str]], str]:
    values = [max(value, ZERO) for _, value in parts]
    # Shares that sum to 100.
    whole = split_amount(100, values, 0) if any(values) else None
    labels = [
        (kind, value, "" if whole is None else percent(Fraction(whole[i])))
        for i, (kind, value) in enumerate(parts)
    ]
    return (
        label,
        labels,
        f"{label}: " + ", ".join(f"{kind} {text}" for kind, _, text in labels) + ".",
    )


def budget_strip(row: ElementBudget) -> tuple[Bar, ...] | None:
    """Material in the building and ordered, against the element's budget."""
    return strip((("paid", row.cost), ("committed", row.committed)), row.budget)


def yield_strip(preview: ConversionPreview) -> tuple[Bar, ...] | None:
    """What a conversion made of what it used, and the waste; None when there is none to tell."""
    if preview.percent is None or preview.waste_percent is None:
        return None
    pieces = (("paid", preview.percent), ("beside", preview.waste_percent))
    return strip(pieces, Fraction(100))


def areas(rows: Sequence[AreaCost]) -> list[dict[str, Any]]:
    """Cost per area of builds in one currency, all in the unit of the first."""
    made = []
    for currency, group in by_currency(rows).items():
        unit = group[0].build.unit
        texts = [money_text(row.per(unit), currency) for row in group]
        bars = [
            Measure(
                row.build.name,
                (("paid", row.per(unit)),),
                None,
                text,
                f"{row.build.name}: {text} per {unit}.",
            )
            for row, text in zip(group, texts, strict=True)
        ]
        made.append({"currency": currency, "unit": unit, "pictures": measured(bars)})
    return made


@dataclass(frozen=True)
class NeedsPicture:
    """How much of what each element needs is there, by value where prices are known.

    ``is_counted``: no price is shown or known, so that components are counted instead.
    ``left_out``: names of components that have no price to weigh them by.
    """

    pictures: tuple[BarPicture, ...]
    is_counted: bool
    left_out: tuple[str, ...]


def needs_met(rows: Sequence[SharedElement], currency: str = "") -> NeedsPicture:
    """What of each element's needs is received or ordered; ``currency`` "" shows no prices."""
    worth = [(row.label, row.worth) for row in rows if row.worth is not None]
    if not currency or not any(met.needed for _, met in worth):
        return NeedsPicture(measured([_counted(row) for row in rows if row.stated]), True, ())
    bars = [_weighed(label, met, currency) for label, met in worth if met.needed]
    left_out = tuple(name for _, met in worth for name in met.left_out)
    return NeedsPicture(measured(bars), False, left_out)


def _counted(row: SharedElement) -> Measure:
    text = f"{row.met} of {row.stated}"
    words = f"{row.label}: nothing more needed of {text}."
    return Measure(row.label, (("worked", Fraction(row.met)),), Fraction(row.stated), text, words)


def _weighed(label: str, worth: NeedsMet, currency: str) -> Measure:
    text = percent(worth.met / worth.needed * 100)
    if worth.met < worth.needed and text == percent(Fraction(100)):
        text = "nearly all"
    got, needed = money_text(worth.met, currency), money_text(worth.needed, currency)
    words = f"{label}: {got} of {needed} received or ordered, {text}."
    return Measure(label, (("worked", worth.met),), worth.needed, text, words)


def tasks(rows: Sequence[TaskProgress]) -> tuple[BarPicture, ...]:
    """Hours worked on each task against its plan."""
    return measured([_task(row) for row in rows])


def _task(row: TaskProgress) -> Measure:
    label = "Without a task" if row.task is None else row.task.name
    plan = "no plan" if row.planned is None else f"planned {hours(row.planned)}"
    over = row.so_far.over if row.is_past else None
    beyond = "" if over is None else f", {hours(over)} over the plan"
    words = f"{label}: worked {hours(row.worked)}, {plan}{beyond}."
    return Measure(label, (("worked", row.worked),), row.planned, hours(row.worked), words)


def spend(
    entries: Sequence[tuple[date, Fraction]], budget: Fraction | None, currency: str
) -> dict[str, Any]:
    """Spend over time: the months, the picture, the day the budget was passed, and words."""
    picture, months = running_sum(entries, budget), by_month(entries)
    since = passed_on(entries, budget)
    words = [f"By the end of {m.first:%B %Y}: {money_text(m.so_far, currency)}." for m in months]
    if budget is not None:
        words.append(f"Budget: {money_text(budget, currency)}.")
    if since is not None:
        words.append(f"Above the budget since {since:%-d %B %Y}.")
    return {
        "months": months,
        "picture": picture,
        "scale": [
            (top, base, money_text(value, currency, trim=True))
            for top, base, value in (picture.scale if picture else ())
        ],
        "words": words,
        "since": since,
        "spent_text": money_text(months[-1].so_far, currency) if months else "",
        "budget_text": "" if budget is None else money_text(budget, currency),
    }
