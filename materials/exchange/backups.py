"""Backups of everything, and one build as a file of its own."""

from collections.abc import Callable, Iterator
from functools import partial
from typing import IO, Any, NamedTuple

from django.contrib.auth.models import User
from django.core.files.storage import default_storage
from django.db.models import Model
from django.utils import timezone

from ..models import Build
from ..queries.rows import (
    consistent_read,
    iterate_rows,
    list_build_models,
    list_columns,
    list_kept_models,
    list_migrations,
    list_stored_models,
)
from ..queries.uploads import list_uploads
from ..services.build_files import import_build
from ..services.long_work import Tell, told_nobody
from ..services.restore import Choices, Restored, refuse_full, restore_rows
from ..services.stored_files import is_ours
from .backup_file import EVERYTHING, ONE_BUILD, Bundle, BundleFile
from .faults import WorkbookError
from .sealed import is_sealed, sealing, unsealed

ModelList = Callable[[], list[type[Model]]]


class Counts(NamedTuple):
    """What a file holds."""

    builds: int
    rows: int
    uploads: int

    def summary(self) -> str:
        parts = ((self.builds, "build"), (self.rows, "row"), (self.uploads, "photo file"))
        listed = [f"{number:,} {word}{'' if number == 1 else 's'}" for number, word in parts]
        return f"{listed[0]} ({listed[1]}) and {listed[2]}"


def write_backup(stream: IO[bytes], *, as_stored: bool = False, key: bytes | None = None) -> Counts:
    """Everything, as it stands at one moment, while others go on writing; sealed with a key.

    ``as_stored``: with the columns that the database has, before it is migrated to the program's.

    Files are stored before the row that names them is committed and are never changed or taken
    away, so those found after the rows were read are all that the rows name.
    """
    with sealing(stream, key) as target:
        bundle = Bundle(target)
        with bundle.dropped_on_error():
            return _write_everything(bundle, list_stored_models if as_stored else list_kept_models)


def _write_everything(bundle: Bundle, list_models: ModelList) -> Counts:
    rows = builds = 0
    with consistent_read():
        migrations = list_migrations()
        for model in list_models():
            count = bundle.add_rows(
                model._meta.label_lower, list_columns(model), iterate_rows(model)
            )
            rows += count
            builds += count if model._meta.label == Build._meta.label else 0
    uploads = _add_uploads(bundle, filter(is_ours, list_uploads()))
    bundle.finish(EVERYTHING, timezone.now(), migrations=migrations)
    return Counts(builds, rows, uploads)


def write_build(build: Build, stream: IO[bytes], tell: Tell = told_nobody) -> Counts:
    """One build with its history and photos; accounts, members and links stay behind.

    ``tell`` is told how many tables and photos are written.
    """
    bundle = Bundle(stream)
    with bundle.dropped_on_error():
        return _write_one(bundle, build, tell)


def _photos(folder: str) -> Iterator[str]:
    """Names of a build's photos, without what strayed in or was only begun."""
    return (name for name in list_uploads(folder) if is_ours(name) and "/tables/" not in name)


def _write_one(bundle: Bundle, build: Build, tell: Tell) -> Counts:
    rows = 0
    kinds = list_build_models()
    folder = f"builds/{build.pk}"
    steps = len(kinds) + sum(1 for _ in _photos(folder))
    with consistent_read():
        for place, model in enumerate(kinds):
            tell(place, steps)
            rows += bundle.add_rows(
                model._meta.label_lower, list_columns(model), iterate_rows(model, build)
            )
    # Listed after the rows, so that all that they name is there; those of deleted photos too,
    # which the history can bring back.
    photos = list(_photos(folder))

    def counted() -> Iterator[str]:
        for place, name in enumerate(photos, len(kinds)):
            tell(place, len(kinds) + len(photos))
            yield name

    uploads = _add_uploads(bundle, counted())
    bundle.finish(ONE_BUILD, timezone.now(), name=build.name)
    return Counts(1, rows, uploads)


def _add_uploads(bundle: Bundle, names: Iterator[str]) -> int:
    count = 0
    for name in names:
        try:
            source = default_storage.open(name)
        except FileNotFoundError:
            # A photo whose file was lost must not stand in the way of all the rest.
            continue
        with source:
            bundle.add_upload(name, source)
        count += 1
    return count


def read_build(
    stream: IO[bytes],
    *,
    actor: User | None,
    name: str = "",
    max_unpacked: int | None = None,
) -> Build:
    """Add the build of a file. Raises WorkbookError or LedgerError with a sentence."""
    file = BundleFile(stream, max_unpacked=max_unpacked)
    if file.kind != ONE_BUILD:
        raise WorkbookError(
            "This file is a backup of everything. Whoever runs the server puts it back "
            "with the command restore."
        )
    file.check()
    return import_build(actor=actor, source=file, name=name)


def open_file(stream: IO[bytes], *, key: bytes | None) -> BundleFile:
    """A backup, sealed or not, or the file of one build. Raises WorkbookError with a sentence."""
    if not is_sealed(stream):
        return BundleFile(stream)
    if key is None:
        raise WorkbookError(
            "This backup is sealed: set BACKUP_KEY_FILE to the file that holds its key."
        )
    return BundleFile(unsealed(stream, key))


def restore_backup(file: BundleFile, *, choices: Choices) -> tuple[Counts, Restored]:
    """Put a backup of everything back. Raises WorkbookError or LedgerError with a sentence."""
    if file.kind != EVERYTHING:
        raise WorkbookError("This file holds one build, not a backup of everything.")
    refuse_full(replace=choices.replace)
    file.check()
    done = restore_rows(
        tables=((label, file.columns(label), file.rows(label)) for label in file.labels),
        migrations=[(str(app), str(name)) for app, name in file.manifest.get("migrations", [])],
        uploads=((name, partial(_read_upload, file, name)) for name in file.uploads),
        choices=choices,
    )
    placed = len(file.uploads) - len(done.left_out)
    return Counts(_count_rows(file, Build), done.rows, placed), done


def _read_upload(file: BundleFile, name: str, most: int) -> bytes:
    with file.upload(name) as stream:
        return stream.read(most)


def _count_rows(file: BundleFile, model: Any) -> int:
    return int(file.parts[f"rows/{model._meta.label_lower}.jsonl"].get("rows", 0))
