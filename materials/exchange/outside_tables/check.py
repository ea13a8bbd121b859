"""Checking rows of a job: what each would become, what stands against it, and what is new."""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import Any

from ...calc.money import minor_units
from ...calc.names import loose_key
from ...models import ImportJob, ImportName, ImportRow, NameKind, RowState
from ...queries import imports as stored
from ...queries.exchange import name_key
from ...queries.imports import Known, KnownComponent
from .mapping import Mapping, make_mapping
from .marks import row_list
from .names import Reference, by_loose_key, names_in, unit_of
from .read import RowReader
from .read_cells import RowRead
from .resolve import Resolved, Resolver

# More lines than this make a purchase that nobody can read.
LINES_PER_PURCHASE = 200
BY_CHOICE = "You left it out."
# Rows that are left out unless it is ticked that they are meant.
_MARKED = {"struck": "struck out", "hidden": "hidden"}


def job_mapping(job: ImportJob) -> Mapping:
    """The job's mapping with its build's currency."""
    return make_mapping(
        job.kind,
        job.mapping,
        job.profile,
        currency=job.build.currency,
        places=minor_units(job.build.currency),
        distance_unit=job.build.distance_unit,
    )


def job_marks(job: ImportJob) -> dict[str, Any] | None:
    """What was kept of the marks of the job's sheet; None where they were not looked at."""
    for sheet in job.sheets:
        if sheet["name"] == job.sheet:
            marks: dict[str, Any] | None = sheet.get("marks")
            return marks
    return None


def marked_rows(job: ImportJob) -> dict[str, list[int]]:
    """Rows of the table that the sheet strikes out or hides, by that word."""
    marks = job_marks(job) or {}
    return {
        kind: numbers
        for kind in _MARKED
        if (numbers := [n for n in marks.get(kind, ()) if n > job.heading_row])
    }


def mark_ticks(job: ImportJob) -> dict[str, str]:
    """What may be ticked on the page of columns: to take in rows the sheet strikes out or hides."""
    return {
        kind: f"Take in {_rows(numbers)} {_MARKED[kind]}: {row_list(numbers)}"
        for kind, numbers in marked_rows(job).items()
    }


def mark_notes(job: ImportJob) -> list[str]:
    """Which rows are left out for being struck out or hidden."""
    options = job.mapping.get("options", {})
    return [
        f"Left out: {_rows(numbers)} {_MARKED[kind]} in the sheet, {row_list(numbers)}."
        for kind, numbers in marked_rows(job).items()
        if not options.get(kind)
    ]


def _rows(numbers: list[int]) -> str:
    return f"{len(numbers):,} row{'s' if len(numbers) > 1 else ''}"


class Checker:
    """Checks rows of one job; what the build holds is read once."""

    def __init__(self, job: ImportJob):
        self.job, self.build = job, job.build
        self.mapping = job_mapping(job)
        self.known: Known = stored.get_known(self.build)
        self.parts = {part.pk: part for part in self.known.components.values()}
        self._loose: dict[str, dict[str, int]] = {}
        self.names: dict[tuple[str, str], ImportName] = {}
        self.similar: dict[tuple[str, str], ImportName] = {}
        self.changed: dict[tuple[str, str], ImportName] = {}
        self.number = 0
        self.marked = {
            number: f"{_MARKED[kind].capitalize()} in the sheet."
            for kind, numbers in marked_rows(job).items()
            if not self.mapping.options[kind]
            for number in numbers
        }
        self.resolver = Resolver(self.mapping, self.known, self.refer)

    def check(self, rows: Sequence[ImportRow], carried: dict[str, Any]) -> dict[str, Any]:
        """Fill the rows' values, faults and states in place; rows follow each other in order.

        Returns what the next row's empty cells would repeat. New names are in ``changed``.
        """
        self.changed = {}
        reader = RowReader(self.mapping, carried)
        read = [(row, self._read(reader, row)) for row in rows]
        self._load_names([found for _, found in read if not found.skip])
        resolved: list[tuple[ImportRow, Resolved]] = []
        for row, found in read:
            self.number = row.number
            resolved.append((row, Resolved(found) if found.skip else self.resolver.resolve(found)))
        self._set_states(resolved)
        self._group([(row, done) for row, done in resolved if row.state == RowState.READY])
        return reader.carried

    def _read(self, reader: RowReader, row: ImportRow) -> RowRead:
        found = reader.read(row.cells, row.mended, forced=row.choice == "import")
        if row.choice == "skip":
            found.skip = BY_CHOICE
        elif row.choice != "import" and not found.skip:
            found.skip = self.marked.get(row.number, "")
        return found

    # Names.

    def _load_names(self, rows: list[RowRead]) -> None:
        keys: dict[str, dict[str, str]] = {}
        for found in rows:
            for kind, _, name in names_in(self.mapping, found):
                key = name_key(name)
                if key not in self.known.of(kind):
                    keys.setdefault(kind, {})[key] = loose_key(name)
        self.names, self.similar = {}, {}
        for kind, found_keys in keys.items():
            known = stored.names_of(self.job, kind, found_keys)
            # A name that stands for another needs that one as well.
            known |= stored.names_of(self.job, kind, [name.like for name in known.values()])
            self.names |= {(kind, key): name for key, name in known.items()}
            near = stored.similar_names(self.job, kind, found_keys.values())
            self.similar |= {(kind, loose): name for loose, name in near.items()}

    def refer(self, kind: str, name: str, hint: str) -> Reference:
        """The record a name stands for, or the one that would be made for it."""
        key = name_key(name)
        pk = self.known.of(kind).get(key)
        if pk is not None:
            return Reference(key, pk, self.known.components.get(key) if _counted(kind) else None)
        entry = self.names.get((kind, key)) or self._new_name(kind, key, name)
        if entry.like:
            entry = self.names.get((kind, entry.like), entry)
        if entry.record_id:
            return Reference(key, entry.record_id, self.parts.get(entry.record_id))
        if not _counted(kind):
            return Reference(entry.key, None)
        if not entry.unit and (unit := unit_of(hint)):
            entry.unit = unit
            self.changed[kind, entry.key] = entry
        return Reference(
            entry.key, None, KnownComponent(None, entry.name, entry.unit, entry.contents)
        )

    def _new_name(self, kind: str, key: str, name: str) -> ImportName:
        loose = loose_key(name)
        entry = ImportName(
            job=self.job, kind=kind, key=key, loose=loose, name=name, first_row=self.number
        )
        entry.record_id = self._loose_keys(kind).get(loose)
        near = self.similar.get((kind, loose)) if loose and not entry.record_id else None
        if near is not None:
            # The other name may itself stand for a record of the build.
            entry.like, entry.record_id = ("" if near.record_id else near.key), near.record_id
            self.names[kind, near.key] = near
        elif loose:
            self.similar[kind, loose] = entry
        self.names[kind, key] = self.changed[kind, key] = entry
        return entry

    def _loose_keys(self, kind: str) -> dict[str, int]:
        if kind not in self._loose:
            self._loose[kind] = by_loose_key(self.known.of(kind).items())
        return self._loose[kind]

    # States.

    def _set_states(self, rows: list[tuple[ImportRow, Resolved]]) -> None:
        prints = [done.fingerprint for _, done in rows if done.fingerprint]
        first = rows[0][0].number if rows else 0
        earlier = stored.count_earlier(self.job, prints, first) if prints else {}
        seen = Counter({key: n for key, (n, _) in earlier.items()})
        last = {key: number for key, (_, number) in earlier.items()}
        in_ledger = self._ledger([done.compare for _, done in rows if done.compare])
        for row, done in rows:
            found = done.found
            row.values, row.faults, row.reason = found.values, found.faults, found.skip
            row.fingerprint, row.is_double = done.fingerprint, False
            row.group_key, row.group_no = "", 0
            if found.skip:
                row.state, row.fingerprint = RowState.SKIP, ""
                continue
            if found.faults:
                row.state, row.fingerprint = RowState.FAULT, ""
                continue
            row.state = RowState.READY
            key = done.fingerprint
            if done.existing:
                row.state, row.reason, row.is_double = RowState.SKIP, done.existing, True
            elif done.compare and seen[key] < len(in_ledger.get(done.compare, ())):
                row.is_double = True
                row.reason = f"In the ledger already: {in_ledger[done.compare][seen[key]]}."
                if row.choice != "import":
                    row.state = RowState.SKIP
            elif key and seen[key]:
                row.is_double, row.reason = True, f"The same as row {last[key]:,}."
                if self.mapping.kind == "components":
                    row.state = RowState.SKIP
            if key:
                seen[key] += 1
                last[key] = row.number

    def _ledger(self, compare: list[tuple[Any, ...]]) -> dict[Any, list[str]]:
        """Where the ledger has the same: sentences by what is compared."""
        kind = self.mapping.kind
        if kind == "purchases":
            found = stored.bought_on(self.build, {key[0] for key in compare})
            return {key: [f"purchase {n}" for n in numbers] for key, numbers in found.items()}
        if kind == "hours":
            counted = stored.worked_on(self.build, {key[0] for key in compare})
            return {key: [f"hours of {_text(key[0])}"] * count for key, count in counted.items()}
        if kind == "prices":
            priced = stored.priced_on(self.build, {key[1] for key in compare})
            return {key: [f"the price of {_text(key[1])}"] for key in priced}
        return {}

    def _group(self, rows: list[tuple[ImportRow, Resolved]]) -> None:
        """Rows of one day, supplier, receipt, payer and state become one purchase."""
        if not self.mapping.options["together"] or self.mapping.kind != "purchases":
            for row, _ in rows:
                row.group_no = row.number
            return
        keys = [done.group for _, done in rows]
        groups = stored.open_groups(self.job, keys) if keys else {}
        for row, done in rows:
            number, count = groups.get(done.group, (row.number, 0))
            if count >= LINES_PER_PURCHASE:
                number, count = row.number, 0
            row.group_key, row.group_no = done.group, number
            groups[done.group] = number, count + 1


def _counted(kind: str) -> bool:
    return kind == NameKind.COMPONENT


def _text(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
