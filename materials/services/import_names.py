"""The records behind the names of a chunk's rows; those that are new are made here."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import Model
from django.db.models.functions import Lower

from ..calc import uniformat
from ..models import (
    Build,
    Component,
    Element,
    ImportJob,
    ImportName,
    ImportRow,
    NameKind,
    TableKind,
)
from ..queries.exchange import keyed, name_key
from ..queries.imports import NAMED, names_of

# Fields of rows by kind of name.
_FIELDS = {
    NameKind.COMPONENT: ("item",),
    NameKind.SUPPLIER: ("supplier",),
    NameKind.PERSON: ("paid_by", "person"),
    NameKind.TASK: ("task",),
}
_PLAIN = {(TableKind.COMPONENTS, "supplier"), (TableKind.PRICES, "supplier")}
_KINDS = {model: kind for kind, model in NAMED.items()}


class NameBook:
    """Records by kind and key, for the rows of one chunk. ``made``: type and pk of new ones."""

    def __init__(self, build: Build, job: ImportJob):
        self.build, self.job = build, job
        self.made: list[tuple[str, int]] = []
        self.pks: dict[tuple[str, str], int] = {}
        self.parts: dict[int, Component] = {}
        self.elements: dict[str, int] = {}
        self.entries: dict[tuple[str, str], ImportName] = {}

    def prepare(self, rows: Sequence[ImportRow]) -> None:
        """Find every record that the rows name, and make those that are new."""
        for kind in NameKind.values:
            wanted: dict[str, str] = {}
            for row in rows:
                for field in _FIELDS[NameKind(kind)]:
                    if field in row.values and (self.job.kind, field) not in _PLAIN:
                        wanted.setdefault(name_key(row.values[field]), row.values[field])
            if wanted:
                self._find(kind, wanted)
        if self.job.kind == TableKind.COMPONENTS:
            self.elements = keyed(Element, self.build, "code")
            self._make_elements(rows)
        parts = [pk for (kind, _), pk in self.pks.items() if kind == NameKind.COMPONENT]
        self.parts = Component.objects.in_bulk(parts)

    def _make_elements(self, rows: Sequence[ImportRow]) -> None:
        """Finer codes of the classification are made when a row names one."""
        codes = dict.fromkeys(row.values.get("element_code", "") for row in rows)
        new = [
            Element(build=self.build, code=code, name=uniformat.name_of(code) or code)
            for code in codes
            if code and name_key(code) not in self.elements
        ]
        for element in Element.objects.bulk_create(new):
            self.elements[name_key(element.code)] = element.pk
            self.made.append(("element", element.pk))

    def _find(self, kind: str, wanted: dict[str, str]) -> None:
        entries = names_of(self.job, kind, wanted)
        entries |= names_of(self.job, kind, [entry.like for entry in entries.values()])
        existing = self._existing(kind, [*wanted.values(), *(e.name for e in entries.values())])
        alive = set(
            NAMED[kind]
            ._default_manager.filter(
                build=self.build, pk__in=[e.record_id for e in entries.values() if e.record_id]
            )
            .values_list("pk", flat=True)
        )
        # A record that the build has by this very name goes before anything that was decided.
        for key in wanted:
            if key in existing:
                self.pks[kind, key] = existing[key]
        new: dict[str, ImportName] = {}
        for key, name in wanted.items():
            if (kind, key) in self.pks:
                continue
            entry = entries.get(key) or ImportName(job=self.job, kind=kind, key=key, name=name)
            entry = entries.get(entry.like, entry)
            self.entries[kind, key] = entry
            if entry.record_id is not None and entry.record_id in alive:
                self.pks[kind, key] = entry.record_id
            elif entry.key in existing:
                self.pks[kind, key] = existing[entry.key]
            else:
                new[entry.key] = entry
        if self.job.kind == TableKind.COMPONENTS and kind == NameKind.COMPONENT:
            # Their rows make them.
            return
        self._make(kind, list(new.values()))
        for key in wanted:
            if (kind, key) not in self.pks:
                made = self.entries[kind, key].record_id
                assert made is not None
                self.pks[kind, key] = made

    def _existing(self, kind: str, names: Iterable[str]) -> dict[str, int]:
        """Records of the build by key, looked up by the names themselves where that finds all."""
        model, listed = NAMED[kind], list(names)
        if all(name.isascii() for name in listed):
            low = {" ".join(name.split()).lower() for name in listed}
            rows = model._default_manager.filter(build=self.build).annotate(low=Lower("name"))
            found = rows.filter(low__in=low).values_list("pk", "name")
            return {name_key(name): pk for pk, name in found}
        return keyed(model, self.build)

    def _make(self, kind: str, entries: list[ImportName]) -> None:
        model = NAMED[kind]
        more = [{"unit": e.unit, "contents": e.contents} for e in entries]
        records = [
            model(build=self.build, name=entry.name, **(extra if model is Component else {}))
            for entry, extra in zip(entries, more, strict=True)
        ]
        model._default_manager.bulk_create(records)
        for entry, record in zip(entries, records, strict=True):
            entry.record_id = record.pk
            self.made.append((str(kind), record.pk))
        self._save(entries)

    @staticmethod
    def _save(entries: list[ImportName]) -> None:
        ImportName.objects.bulk_create(
            entries,
            update_conflicts=True,
            unique_fields=["job", "kind", "key"],
            update_fields=["record_id"],
        )

    def find(self, model: type[Model], row: ImportRow, field: str) -> int | None:
        """The pk of what a row names, None where it names nothing."""
        return None if row.values.get(field) is None else self.get(model, row, field)

    def get(self, model: type[Model], row: ImportRow, field: str) -> int:
        """The pk of what a row must name."""
        return self.pks[_KINDS[model], name_key(row.values[field])]

    def component(self, row: ImportRow) -> Component:
        """The row's component. Raises LookupError with a sentence when it is gone."""
        name = row.values["item"]
        found = self.parts.get(self.pks.get((NameKind.COMPONENT, name_key(name)), 0))
        if found is None:
            raise LookupError(f"“{name}” was deleted meanwhile. Check the rows again.")
        return found

    def has_component(self, row: ImportRow) -> bool:
        """Whether the build has a component of the row's name by now."""
        return (NameKind.COMPONENT, name_key(row.values["item"])) in self.pks

    def element(self, row: ImportRow) -> int | None:
        """The row's element, None when it has none or it is gone."""
        if code := row.values.get("element_code"):
            return self.elements[name_key(code)]
        pk = row.values.get("element_id")
        return pk if pk in self.elements.values() else None

    def link_records(self, rows: Sequence[ImportRow], records: Sequence[Any]) -> None:
        """Keep which records rows of a table of components became."""
        entries = []
        for row, record in zip(rows, records, strict=True):
            entry = self.entries.get((NameKind.COMPONENT, name_key(row.values["item"])))
            if entry is not None and entry.pk:
                entry.record_id = record.pk
                entries.append(entry)
        self._save(entries)
