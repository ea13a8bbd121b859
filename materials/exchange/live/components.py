"""What every component comes to: averages, what is in the building, against new, still needed."""

from collections.abc import Callable

from ...choices import Fate, Source, State
from ...queries.quantities import exact_base
from ..pages import Page
from . import prices
from .facts import OF_COMPONENTS, Facts, Part, Span
from .grids import COMPONENTS, STOCK
from .refs import UNKNOWN, Formula, quoted

B = OF_COMPONENTS
NOT_KNOWN = quoted(UNKNOWN)
TAX, WASTE = "Retail tax %", "waste_percent"
FATES = {fate.name.lower(): fate for fate in Fate}


def write(page: Page, facts: Facts) -> None:
    """A row for each component, beside its row on Components."""
    page.workings(COMPONENTS)
    for part in facts.parts.values():
        _row(page, facts, part)


def _lines(part: Part, key: str, state: State) -> str:
    if part.lines is None:
        return "0"
    states = STOCK.span("state", *part.lines)
    return f"SUMIF({states},{quoted(state)},{STOCK.span(key, *part.lines)})"


def _bought_new(part: Part) -> str:
    """Landed cost of one received from retail; not known where a price of such a line is not."""
    if part.lines is None:
        return NOT_KNOWN
    states, sources = (STOCK.span(key, *part.lines) for key in ("state", "source"))
    qty, cost, unknown = (
        f"SUMIFS({STOCK.span(key, *part.lines)},{states},{quoted(State.RECEIVED)},"
        f"{sources},{quoted(Source.RETAIL)})"
        for key in ("qty", "cost", "unknown")
    )
    return f"IF(OR({unknown}>0,{qty}<=0),{NOT_KNOWN},{cost}/{qty})"


def _left(part: Part, fate: Fate) -> str:
    if part.left is None:
        return "0"
    fates = STOCK.span("state", *part.left)
    return f"SUMIF({fates},{quoted(fate)},{STOCK.span('qty', *part.left)})"


def _needed(facts: Facts, part: Part, own: Callable[[str], str]) -> str:
    """Required with waste, less what is on site or ordered, never below 0."""
    component, row = part.component, part.row
    text = component.required_text or f"1 {component.unit}"
    typed = facts.typed.read(text, component.pk, lambda text: exact_base(text, component))
    scale = typed.scales[0]
    cell, waste = B.cell("required", row), B.cell(WASTE, row)
    required = f"ROUND({scale.of(f'({typed.number(cell)})')},6)" if scale else "NA()"
    wanted = f'{required}*(1+IF({waste}="",0,{waste}/100))'
    rest = f"{wanted}-{own('in_building')}-{own('on_hand')}-{own('ordered')}"
    # What binary fractions leave over of nothing must not be bought.
    return f'IF({cell}="",{NOT_KNOWN},MAX(0,ROUND({rest},9)))'


def _row(page: Page, facts: Facts, part: Part) -> None:
    row, component = part.row, part.component

    def own(key: str) -> str:
        return COMPONENTS.cell(key, row)

    def at_average(key: str) -> str:
        return f"{own(key)}*{own('known_average')}"

    def total(key: str, span: Span | None) -> str:
        return f"SUM({STOCK.span(key, *span)})" if span else "0"

    new_per_one, would = B.cell("new_per_one", row), B.cell("would_buy_new", row)
    tax = f"1+{facts.share(TAX)}"
    came_in = f"{own('received')}+{own('made')}+{own('moved_in')}"
    came_cost = f"{own('received_cost')}+{own('made_cost')}+{own('moved_in_cost')}"
    left = "-".join(own(key) for key in FATES)
    unknown = f"{_lines(part, 'unknown', State.RECEIVED)}+{total('unknown', part.made)}"
    unknown += f"+{total('unknown', part.moved_in)}"
    money = f"{came_cost}-{own('used_cost')}-{at_average('on_hand')}-{own('moved_value')}"
    # What has a value of its own keeps it; the rest leaves at the average.
    rest = f"({own('moved')}-{total('valued', part.left)})"
    at_rest = f"{rest}*{own('known_average')}"
    new, average, needed = own("new"), own("average"), own("needed")
    held = f"OR(ABS({own('in_building')})>0.0000001,ABS({own('money')})>0.0000001)"
    formulas = {
        "same": f"IF(AND({B.cell('name', row)}={own('component')},{B.cell('unit', row)}="
        f"{own('unit')},{B.cell('contents', row)}={own('contents')}),1,NA())",
        "new_per_one": f'IF({new_per_one}="",1,{new_per_one})',
        "price": prices.as_of(facts, component.pk),
        "bought_new": _bought_new(part),
        "new": f"IF({own('price')}={NOT_KNOWN},{own('bought_new')},"
        f"{own('new_per_one')}*{own('price')}*({tax}))",
        "received": f"{own('same')}*{_lines(part, 'qty', State.RECEIVED)}",
        "received_cost": _lines(part, "cost", State.RECEIVED),
        "unknown": unknown,
        "ordered": _lines(part, "qty", State.ORDERED),
        "ordered_cost": _lines(part, "cost", State.ORDERED),
        "moved_in": total("qty", part.moved_in),
        "moved_in_cost": total("cost", part.moved_in),
        "made": total("qty", part.made),
        "made_cost": total("cost", part.made),
        "known_average": f"IF({came_in}>0,({came_cost})/({came_in}),0)",
        "average": f"IF(OR({own('unknown')}>0,{came_in}<=0),{NOT_KNOWN},{own('known_average')})",
        "used": total("qty", part.used),
        "used_cost": total("cost", part.used),
        **{key: _left(part, fate) for key, fate in FATES.items()},
        "moved_value": f"{total('value', part.left)}+{at_rest}",
        "proceeds": total("cost", part.left),
        "in_building": f"{came_in}-{own('used')}-{left}",
        "money": f"{money}-{own('proceeds')}",
        "cost": f"IF({own('unknown')}>0,{NOT_KNOWN},{own('money')})",
        "worth": f'IF({would}="no",0,{new})',
        "retail": f"IF({own('worth')}={NOT_KNOWN},{NOT_KNOWN},{own('in_building')}*{own('worth')})",
        "counts": f"IF(OR({own('retail')}={NOT_KNOWN},{own('unknown')}>0),0,1)",
        "savings": f"IF({own('counts')}=1,{own('retail')}-{own('money')},{NOT_KNOWN})",
        "counted_cost": f"IF({own('counts')}=1,{own('money')},0)",
        "counted_retail": f"IF({own('counts')}=1,{own('retail')},0)",
        "left_out": f"IF(AND({own('retail')}={NOT_KNOWN},{held}),1,0)",
        "needed": _needed(facts, part, own),
        "low": _price_of_needed(needed, average, new),
        "high": _price_of_needed(needed, new, average),
        "unforecast": f"IF(AND(ISNUMBER({needed}),{new}={NOT_KNOWN},{average}={NOT_KNOWN}),"
        f"IF({needed}>0,1,0),0)",
    }
    page.work(
        row,
        component=component.name,
        unit=component.unit,
        contents=component.contents,
        **{key: Formula(text) for key, text in formulas.items()},
    )


def _price_of_needed(needed: str, first: str, second: str) -> str:
    """What is still needed at the first price, where that is not known at the second."""
    at_second = f"IF({second}={NOT_KNOWN},0,{needed}*{second})"
    priced = f"IF({first}={NOT_KNOWN},{at_second},{needed}*{first})"
    return f"IF({needed}={NOT_KNOWN},0,{priced})"
