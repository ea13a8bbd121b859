"""What the pictures show, with the words that say the same."""

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from typing import Any

from ..calc.areas import AreaCost, by_currency
from ..calc.pictures.bars import (
    Bar,
    BarPicture,
    Measure,
    SharePicture,
    divided,
    measured,
    strip,
)
from ..calc.pictures.over_time import by_month, passed_on, running_sum
from ..calc.progress.hours import LimitCheck, TaskProgress
from ..calc.progress.money import ElementBudget
from ..calc.reports import SOURCES, CostSheet, ElementRow, SourceRow
from ..queries.conversions import ConversionPreview
from ..queries.shared_types import SharedElement
from ..templatetags.figures import hours, money_text, percent

ZERO = Fraction(0)


def of_sheet(sheet: CostSheet) -> dict[str, Any]:
    """The pictures of a cost sheet; a picture with nothing to draw is empty."""
    return {"elements": elements(sheet), "sources": sources(sheet)}


def elements(sheet: CostSheet) -> tuple[BarPicture, ...]:
    """Cost of each element against what the same would have cost new."""
    return element_bars(sheet.elements, sheet.build.currency, sheet.build.places)


def element_bars(rows: Sequence[ElementRow], currency: str, places: int) -> tuple[BarPicture, ...]:
    """The bars of ``elements``."""
    return measured([_element(row, currency, places) for row in rows])


def _element(row: ElementRow, currency: str, places: int) -> Measure:
    figures = row.figures
    label = _name(row)
    apart = figures.cost - figures.priced_cost
    if figures.retail_equivalent is None:
        words = f"{label}: cost {money_text(figures.cost, currency)}, no new price known."
        pieces: tuple[tuple[str, Fraction], ...] = ()
    else:
        new = LimitCheck(figures.priced_cost, figures.retail_equivalent, places)
        words = (
            f"{label}: cost {money_text(figures.priced_cost, currency)},"
            f" new {money_text(figures.retail_equivalent, currency)}"
        )
        words += f", {money_text(new.over, currency)} above new" if new.over is not None else ""
        words += f", and {money_text(apart, currency)} without a new price" if apart > 0 else ""
        words += "."
        pieces = (("paid", figures.priced_cost),)
    return Measure(
        label,
        pieces,
        figures.retail_equivalent,
        money_text(figures.cost, currency),
        words,
        beside=apart,
    )


def _name(row: ElementRow) -> str:
    return "Without an element" if row.element is None else f"{row.element.code} {row.element.name}"


def sources(sheet: CostSheet) -> SharePicture | None:
    """Landed cost by source, and beside it what the same would have cost new."""
    return source_shares(sheet.sources)


def source_shares(sources: Sequence[SourceRow]) -> SharePicture | None:
    """The bars of ``sources``."""
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
    whole = sum((max(value, ZERO) for _, value in parts), ZERO)
    labels = [
        (kind, value, percent(max(value, ZERO) / whole * 100) if whole else "")
        for kind, value in parts
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


def needs_met(rows: Sequence[SharedElement]) -> tuple[BarPicture, ...]:
    """Of the components each element needs, how many are wholly on site or ordered."""
    return measured([_met(row) for row in rows if row.stated])


def _met(row: SharedElement) -> Measure:
    text = f"{row.met} of {row.stated}"
    words = f"{row.label}: nothing more needed of {text}."
    return Measure(row.label, (("worked", Fraction(row.met)),), Fraction(row.stated), text, words)


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
        "words": words,
        "since": since,
        "spent_text": money_text(months[-1].so_far, currency) if months else "",
        "budget_text": "" if budget is None else money_text(budget, currency),
    }
