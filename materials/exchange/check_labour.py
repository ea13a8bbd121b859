"""The sheets Tasks and Labour."""

from ..calc.durations import HOURS_OF_A_DAY, LONG_DAY
from ..models import LabourEntry, Task
from ..queries.days import NOT_YET_WORKED
from ..queries.exchange import name_key
from .context import Context
from .faults import shown
from .plan import Planned
from .rows import Table


def check_tasks(ctx: Context, table: Table) -> dict[str, Planned]:
    """Listed tasks by key; those that exist already stay as they are."""
    tasks: dict[str, Planned] = {}
    for row in table.rows:
        name = row.get("name")
        element = ctx.find_element(table, row)
        if name is None:
            continue
        key = name_key(name)
        if key in tasks:
            ctx.fault(table, row, "name", f"{shown(name)} is listed twice: keep one of them.")
            continue
        tasks[key] = Planned(table.sheet.stated(Task, row.values), {"element": element})
        ctx.tasks.use(name)
    return tasks


def check_labour(ctx: Context, table: Table) -> list[Planned]:
    """Hours; tasks that are not listed are created."""
    entries = []
    for row in table.rows:
        person, task, hours = row.get("person"), row.get("task"), row.get("hours")
        if hours == 0:
            ctx.fault(table, row, "hours", "0 hours is no work: enter more, or drop the row.")
            continue
        if hours is not None and hours > HOURS_OF_A_DAY:
            ctx.fault(table, row, "hours", LONG_DAY)
        ctx.refuse_early(table, row, NOT_YET_WORKED)
        person_key = ctx.persons.use(person) if person else None
        task_key = ctx.tasks.use(task) if task else None
        if person_key is None or not hours or not row.get("kind") or not row.get("date"):
            continue
        entries.append(
            Planned(
                table.sheet.stated(LabourEntry, row.values),
                {"person": person_key, "task": task_key},
            )
        )
    return entries
