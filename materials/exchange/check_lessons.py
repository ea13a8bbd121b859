"""The sheet Lessons: what was learned, and of what."""

from ..models import Lesson
from ..models.lessons import ABOUT
from ..queries.days import NOT_YET_LEARNED
from ..queries.exchange import name_key
from .context import Context
from .plan import Planned
from .rows import Row, Table


def check_lessons(ctx: Context, table: Table) -> list[Planned]:
    """Lessons, but for those of the build already; tasks and suppliers are created on sight."""
    known = ctx.existing.lessons if ctx.existing else frozenset()
    lessons = []
    for row in table.rows:
        ctx.refuse_early(table, row, NOT_YET_LEARNED)
        named = [about for about in ABOUT if row.get(about) is not None]
        if len(named) > 1:
            ctx.fault(
                table, row, named[1], "A lesson is about one thing: keep one of them, and give the"
                " other a row of its own."
            )  # fmt: skip
            continue
        noted_on, kind, text = row.get("date"), row.get("kind"), row.get("text")
        if text is not None and (noted_on, kind, name_key(text)) in known:
            ctx.findings.note(f"{table.sheet.title}: what is noted already stays as it is.")
            continue
        links = {about: _find(ctx, table, row, about) for about in ABOUT}
        if noted_on and kind and text:
            lessons.append(Planned(table.sheet.stated(Lesson, row.values), links))
    return lessons


def _find(ctx: Context, table: Table, row: Row, about: str) -> str | None:
    """Key of what a row names of a kind, None with a fault or for nothing."""
    name = row.get(about)
    if name is None:
        return None
    if about == "component":
        return ctx.find_component(table, row)
    if about == "element":
        return ctx.find_element(table, row)
    return (ctx.tasks if about == "task" else ctx.suppliers).use(name)
