"""The sheets Shares and Handed over."""

from ..models import HandOver, Share
from ..queries.exchange import name_key
from .context import Context
from .faults import shown
from .plan import Planned
from .rows import Table


def check_shares(ctx: Context, table: Table) -> list[Planned]:
    """Stated shares of a new build; those of a build that exists stay as they are."""
    if ctx.existing is not None:
        if table.rows:
            ctx.findings.note("The build exists: its shares stay as they are.")
        return []
    listed: dict[str, int] = {}
    shares = []
    for row in table.rows:
        person, weight = row.get("person"), row.get("weight")
        if weight == 0:
            ctx.fault(
                table, row, "weight", "A share is above zero: drop the row of who pays nothing."
            )
        if person is None:
            continue
        key = name_key(person)
        if key in listed:
            ctx.fault(
                table,
                row,
                "person",
                f"{shown(person)} has a share on row {listed[key]} already: keep one of them.",
            )
            continue
        listed[key] = row.number
        if weight:
            said = table.sheet.stated(Share, row.values)
            shares.append(Planned(said, {"person": ctx.persons.use(person)}))
    return shares


def check_payments(ctx: Context, table: Table) -> list[Planned]:
    """Payments."""
    listed = []
    for row in table.rows:
        giver, receiver, amount = row.get("giver"), row.get("receiver"), row.get("amount")
        if amount == 0:
            ctx.fault(table, row, "amount", "A payment is above zero: enter more, or drop the row.")
        if giver and receiver and name_key(giver) == name_key(receiver):
            ctx.fault(table, row, "receiver", "Nobody pays themselves: name two people.")
            continue
        if not giver or not receiver or not amount or not row.get("date"):
            continue
        links = {"giver": ctx.persons.use(giver), "receiver": ctx.persons.use(receiver)}
        listed.append(Planned(table.sheet.stated(HandOver, row.values), links))
    return listed
