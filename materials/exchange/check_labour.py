"""The sheets Tasks and Labour."""

from ..calc.durations import HOURS_OF_A_DAY, LONG_DAY
from ..queries.days import NOT_YET_WORKED
from ..queries.exchange import name_key
from .context import Context
from .faults import shown
from .plan import PlannedLabour, PlannedTask
from .rows import Table


def check_tasks(ctx: Context, table: Table) -> dict[str, PlannedTask]:
    """Listed tasks by key; those that exist already stay as they are."""
    tasks: dict[str, PlannedTask] = {}
    for row in table.rows:
        name = row.get("name")
        element = ctx.find_element(table, row)
        if name is None:
            continue
        key = name_key(name)
        if key in tasks:
            ctx.fault(table, row, "name", f"{shown(name)} is listed twice: keep one of them.")
            continue
        tasks[key] = PlannedTask(name, element, row.get("planned_hours"), row.get("done_percent"))
        ctx.tasks.use(name)
    return tasks


def check_labour(ctx: Context, table: Table) -> list[PlannedLabour]:
    """Hours; tasks that are not listed are created."""
    entries = []
    for row in table.rows:
        person, task, hours = row.get("person"), row.get("task"), row.get("hours")
        if hours == 0:
            ctx.fault(table, row, "hours", "0 hours were no work: write more, or drop the row.")
            continue
        if hours is not None and hours > HOURS_OF_A_DAY:
            ctx.fault(table, row, "hours", LONG_DAY)
        ctx.refuse_early(table, row, NOT_YET_WORKED)
        person_key = ctx.persons.use(person) if person else None
        task_key = ctx.tasks.use(task) if task else None
        if person_key is None or not hours or not row.get("kind") or not row.get("date"):
            continue
        entries.append(
            PlannedLabour(
                row.get("date"),
                person_key,
                task_key,
                row.get("kind"),
                hours,
                row.get("paid"),
                row.get("note", ""),
            )
        )
    return entries
