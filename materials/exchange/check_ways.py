"""The sheet Ways to make: what somebody states that can be made of what."""

from ..calc.yields import too_much
from ..models import WayToMake
from ..queries.quantities import side_of
from .context import Context
from .faults import shown
from .plan import Planned
from .rows import Row, Table


def check_ways(ctx: Context, table: Table) -> list[Planned]:
    """Stated ways; one that the build states already stays as it is."""
    known = ctx.existing.ways if ctx.existing else frozenset()
    listed: dict[tuple[str, str], int] = {}
    ways = []
    for row in table.rows:
        source = ctx.find_component(table, row, "source")
        made = ctx.find_component(table, row)
        if source is None or made is None:
            continue
        if (source, made) in known:
            ctx.findings.note(f"{table.sheet.title}: what is stated already stays as it is.")
            continue
        if (source, made) in listed:
            ctx.fault(
                table, row, "component", f"{shown(row.get('component'))} is made of"
                f" {shown(row.get('source'))} on row {listed[source, made]} already: keep one."
            )  # fmt: skip
            continue
        listed[source, made] = row.number
        way = _check_way(ctx, table, row, source, made)
        ways += [way] if way else []
    return ways


def _check_way(ctx: Context, table: Table, row: Row, source: str, made: str) -> Planned | None:
    used = ctx.quantity(table, row, "used", source)
    got = ctx.quantity(table, row, "made", made)
    if source == made:
        ctx.fault(
            table, row, "component", "Nothing is made of itself: make the result its own component."
        )
        return None
    if row.get("lost") == 100:
        ctx.fault(table, row, "lost", "Nothing is left of it: enter less than 100.")
        return None
    if used is None or got is None:
        return None
    more = too_much(side_of(used[0], ctx.part(source)), [side_of(got[0], ctx.part(made))])
    if more:
        ctx.fault(table, row, "made", more)
        return None
    said = table.sheet.stated(WayToMake, row.values) | {"used_text": used[0], "made_text": got[0]}
    return Planned(said, {"source": source, "component": made})
