"""Taking in one build that was written elsewhere.

The file is somebody else's word: every key in it is replaced by a new one, it can only refer to
itself, every value is checked as its field would have it, pictures are drawn anew, and all that
is derived is worked out again. Its history comes along, and undoing works in it. A line of
history about what stays behind comes without what stood in the record; a new
model of that kind needs its name there, or the file is refused.
"""

import secrets
from collections import defaultdict
from collections.abc import Iterator
from contextlib import AbstractContextManager, suppress
from typing import IO, Any, Protocol

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DataError, IntegrityError, connection, models, transaction

from ..calc.units import UNITS
from ..choices import Role
from ..models import Build, Change, Member
from ..queries.rows import list_build_models
from .build_file_figures import derive_figures
from .errors import LedgerError
from .history import RECORDS
from .keys import reserve_keys
from .photos import read_picture

BATCH = 1000
MAX_ROWS = 3_000_000
MAX_KEY = 2**63
DAMAGED = "The file is damaged or was changed: use another copy. Nothing was saved."


class BuildRows(Protocol):
    """What a build's file holds; made by the exchange package."""

    @property
    def labels(self) -> list[str]:
        """The models that have rows here."""

    @property
    def uploads(self) -> list[str]:
        """Names of the stored files."""

    def columns(self, label: str) -> list[str]:
        """Names of the columns of a model's rows."""

    def rows(self, label: str) -> Iterator[list[Any]]:
        """A model's rows, as often as asked."""

    def upload(self, name: str) -> AbstractContextManager[IO[bytes]]:
        """One stored file."""


class _Damaged(ValueError):
    """Something in the file that this program cannot have written."""


# What values of the wrong kind raise, in Python, in the fields and in the database.
_UNFIT = (
    IntegrityError,
    DataError,
    ValidationError,
    ValueError,
    TypeError,
    ArithmeticError,
    LookupError,
    AttributeError,
)


def import_build(*, actor: User | None, source: BuildRows, name: str = "") -> Build:
    """Add the build of a file, owned by the actor; ``name`` instead of its own when given.

    Raises LedgerError when the file cannot be believed; then nothing is kept.
    """
    kept: dict[str, str] = {}
    try:
        with transaction.atomic():
            return _BuildImport(source, actor, kept).run(name)
    except BaseException as error:
        for stored in kept.values():
            with suppress(OSError):
                default_storage.delete(stored)
        if isinstance(error, _UNFIT) and not isinstance(error, LedgerError):
            raise LedgerError(DAMAGED) from None
        raise


class _BuildImport:
    """One build on its way in."""

    def __init__(self, source: BuildRows, actor: User | None, kept: dict[str, str]):
        self.source = source
        self.actor = actor
        self.models = {model._meta.label_lower: model for model in list_build_models()}
        self.new: dict[str, dict[int, int]] = {}
        self.files = kept

    def run(self, name: str) -> Build:
        """Keys, pictures, rows, figures, owner, one line of history."""
        keys = self._list_keys()
        for label, found in keys.items():
            ordered = sorted(found)
            fresh = reserve_keys(self.models[label], len(ordered))
            self.new[label] = dict(zip(ordered, fresh, strict=True))
        builds = list(self.source.rows(Build._meta.label_lower))
        if len(builds) != 1:
            raise _Damaged("one build and no other")
        build_id = next(iter(self.new[Build._meta.label_lower].values()))
        self._keep_pictures(build_id)
        for label, model in self.models.items():
            if label in self.source.labels:
                self._write(model)
        connection.check_constraints()
        build = Build.objects.get(pk=build_id)
        if name:
            build.name = name
            build.save(update_fields=["name"])
        derive_figures(build)
        if self.actor is not None:
            Member.objects.create(build=build, user=self.actor, role=Role.OWNER)
        Change.objects.create(
            build=build,
            actor=self.actor,
            actor_name=self.actor.get_username() if self.actor else "",
            action="imported",
            record_type="build",
            record_id=build.pk,
            summary=f"{build.name}, with its history, from a file"[:300],
        )
        return build

    def _list_keys(self) -> dict[str, set[int]]:
        """Every key in the file, of rows that are there and of those the history speaks of."""
        if unknown := set(self.source.labels) - self.models.keys():
            raise _Damaged(f"rows of {unknown}")
        keys: dict[str, set[int]] = defaultdict(set)
        count = 0
        for label in self.source.labels:
            columns = self.source.columns(label)
            at = columns.index(self.models[label]._meta.pk.attname)
            kept_at = [n for n, column in enumerate(columns) if column in ("before", "after")]
            for row in self.source.rows(label):
                count += 1
                keys[label].add(_key(row[at]))
                if self.models[label] is Change:
                    for part in (part for n in kept_at for part in row[n] or []):
                        keys[self._label(part)].add(_key(part["pk"]))
            if count > MAX_ROWS:
                raise _Damaged("too many rows")
        return keys

    def _label(self, part: Any) -> str:
        label = part.get("model") if isinstance(part, dict) else None
        if (
            not isinstance(label, str)
            or label not in self.models
            or not isinstance(part.get("fields"), dict)
        ):
            raise _Damaged("history of something else")
        return label

    def _keep_pictures(self, build_id: int) -> None:
        for name in self.source.uploads:
            with self.source.upload(name) as stream:
                data = stream.read()
            # Drawn anew, as if it had been taken in here: these bytes are not ours.
            picture = read_picture(SimpleUploadedFile(name, data))
            kept = f"builds/{build_id}/{secrets.token_hex(16)}.jpg"
            self.files[name] = default_storage.save(kept, ContentFile(picture.image))

    def _write(self, model: type[models.Model]) -> None:
        label = model._meta.label_lower
        columns = self.source.columns(label)
        batch: list[models.Model] = []
        for row in self.source.rows(label):
            values = self._values(model, dict(zip(columns, row, strict=True)))
            if values is None:
                continue
            record = model(**values)
            self._check(record)
            batch.append(record)
            if len(batch) == BATCH:
                model._default_manager.bulk_create(batch)
                batch = []
        model._default_manager.bulk_create(batch)

    @staticmethod
    def _check(record: models.Model) -> None:
        """What a form would check: lengths, choices, ranges, units."""
        for field in record._meta.concrete_fields:
            value = getattr(record, field.attname)
            if field.name.endswith("unit") and value and value not in UNITS:
                raise _Damaged(f"no unit {value!r}")
            if not (field.is_relation or field.primary_key or value in field.empty_values):
                field.clean(value, record)

    def _values(self, model: type[models.Model], row: dict[str, Any]) -> dict[str, Any] | None:
        """A row's values as they are kept here; None for one whose picture is not in the file."""
        values: dict[str, Any] = {}
        for name, value in row.items():
            field = _field(model, name)
            if model is Change and name in ("before", "after"):
                values[name] = self._history(value)
            elif model is Change and name == "record_id":
                values[name] = self._record_key(row.get("record_type"), value)
            else:
                values[field.attname] = self._value(model, field, value)
            if isinstance(field, models.FileField) and values[field.attname] is None:
                return None
        return values

    def _value(self, model: type[models.Model], field: "models.Field[Any, Any]", value: Any) -> Any:
        if field.primary_key:
            return self.new[model._meta.label_lower][_key(value)]
        if isinstance(field, models.ForeignKey):
            return self._link(field, value)
        if isinstance(field, models.FileField):
            return self.files.get(value)
        return value if isinstance(field, models.JSONField) else field.to_python(value)

    def _link(self, field: "models.ForeignKey[Any, Any]", value: Any) -> int | None:
        """The new key of the row it leads to. Accounts are of another server: nobody."""
        if field.related_model is get_user_model() or value is None:
            found = None
        else:
            found = self.new.get(field.related_model._meta.label_lower, {}).get(_key(value))
        if found is None and not field.null:
            raise _Damaged(f"{field} leads nowhere")
        return found

    def _record_key(self, kind: Any, value: Any) -> int | None:
        if kind not in RECORDS or value is None:
            return None
        return self.new.get(RECORDS[kind][0]._meta.label_lower, {}).get(_key(value))

    def _history(self, parts: Any) -> list[dict[str, Any]] | None:
        """What stood in a record, with the new keys, so that it can be brought back here."""
        if parts is None:
            return None
        places = []
        for part in parts:
            model = self.models[self._label(part)]
            fields = {}
            for name, value in part["fields"].items():
                field = _field(model, name)
                kept = value
                if isinstance(field, models.ForeignKey):
                    kept = self._known_link(field, value)
                elif isinstance(field, models.FileField):
                    kept = self.files.get(value, "")
                elif not isinstance(field, models.JSONField):
                    field.to_python(value)
                fields[name] = kept
            places.append(
                {
                    "model": part["model"],
                    "pk": self.new[part["model"]][part["pk"]],
                    "fields": fields,
                }
            )
        return places

    def _known_link(self, field: "models.ForeignKey[Any, Any]", value: Any) -> int | None:
        """As ``_link``; what leads nowhere stays out, and bringing it back will say so."""
        if value is None or field.related_model is get_user_model():
            return None
        return self.new.get(field.related_model._meta.label_lower, {}).get(_key(value))


def _field(model: type[models.Model], name: str) -> "models.Field[Any, Any]":
    """A stored field by its column's or its own name."""
    for field in model._meta.concrete_fields:
        if name in (field.attname, field.name):
            return field
    raise _Damaged(f"no field {name}")


def _key(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 0 < value < MAX_KEY:
        raise _Damaged(f"not a key: {value!r}")
    return value
