"""A backup, or one whole build, as one zip file.

``manifest.json`` names every other part with its SHA-256. ``rows/<model>.jsonl`` holds the
names of the columns on its first line and then a row a line; decimals, dates and times are
text. ``uploads/…`` holds photos under the names they are stored by.

How it is whole: ``queries.rows`` reads every row at one moment (a deferred transaction on SQLite's
write-ahead log, REPEATABLE READ on PostgreSQL). Photos are stored before the row that names them
commits and never change, so files found after the rows were read are enough. ``services.restore``
puts rows back under their own keys, ``services.build_files`` takes one build in under new ones.
"""

import base64
import hashlib
import json
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import IO, Any

from .faults import WorkbookError

FORMAT = "buildledger rows 1"
EVERYTHING, ONE_BUILD = "everything", "build"
MANIFEST = "manifest.json"
COPY_BYTES = 1 << 20
# The history of a purchase of thousands of lines stands on one line.
MAX_LINE = 64 * 1024 * 1024
MAX_MANIFEST = 32 * 1024 * 1024
# What opening a part raises whose directory entry is wrong: place, name, method or encryption.
_UNREADABLE = (
    zipfile.BadZipFile,
    KeyError,
    OSError,
    RuntimeError,
    NotImplementedError,
    ValueError,
    struct.error,
)
DAMAGED = "The file is damaged or was changed: use another copy."


class Bundle:
    """Writes such a file part by part; ``finish`` adds the manifest."""

    def __init__(self, stream: IO[bytes]):
        self.archive = zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=3)
        self.parts: dict[str, dict[str, Any]] = {}

    def add_rows(self, label: str, columns: list[str], rows: Iterable[list[Any]]) -> int:
        """Write the rows of one model; returns how many there were."""
        count = 0
        with self._part(f"rows/{label}.jsonl", zipfile.ZIP_DEFLATED) as write:
            write(_line(columns))
            for row in rows:
                write(_line(row))
                count += 1
        self.parts[f"rows/{label}.jsonl"]["rows"] = count
        return count

    def add_upload(self, name: str, source: IO[bytes]) -> None:
        """Copy one stored file; pictures are packed already."""
        with self._part(f"uploads/{name}", zipfile.ZIP_STORED) as write:
            while chunk := source.read(COPY_BYTES):
                write(chunk)

    def finish(self, kind: str, made_at: datetime, **more: Any) -> None:
        """Write the manifest and close."""
        manifest = {"format": FORMAT, "kind": kind, "made_at": made_at.astimezone(UTC).isoformat()}
        text = json.dumps(manifest | more | {"parts": self.parts}, indent=1)
        self.archive.writestr(MANIFEST, text)
        self.archive.close()

    @contextmanager
    def dropped_on_error(self) -> Iterator[None]:
        """What could not be written whole is not written on when it is thrown away either."""
        try:
            yield
        except BaseException:
            self.archive.fp = None
            raise

    @contextmanager
    def _part(self, name: str, method: int) -> Iterator[Callable[[bytes], None]]:
        digest = hashlib.sha256()
        info = zipfile.ZipInfo(name)
        info.compress_type = method
        with self.archive.open(info, "w", force_zip64=True) as stream:

            def write(data: bytes) -> None:
                digest.update(data)
                stream.write(data)

            yield write
        self.parts[name] = {"sha256": digest.hexdigest()}


def _line(values: list[Any]) -> bytes:
    text = json.dumps(values, default=_plain, ensure_ascii=False, separators=(",", ":"))
    return text.encode() + b"\n"


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, timedelta):
        return value.total_seconds()
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode("ascii")
    return str(value)


class BundleFile:
    """Reads such a file. Raises WorkbookError with a sentence for anything that is not one."""

    def __init__(self, stream: IO[bytes], *, max_unpacked: int | None = None):
        try:
            self.archive = zipfile.ZipFile(stream)
            members = self.archive.infolist()
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
            raise WorkbookError("This file is neither a backup nor an exported build.") from None
        # Judged by the directory, before anything is unpacked (OWASP ASVS 5.0.0, 5.2.3); a part
        # is never read beyond the size that it claims here.
        if max_unpacked is not None and sum(m.file_size for m in members) > max_unpacked:
            raise WorkbookError(
                f"The file would unpack to more than {max_unpacked // 1024**2:,} MB: ask "
                "whoever runs the server to import it with the command restore."
            )
        self.sizes = {member.filename: member.file_size for member in members}
        if len(self.sizes) < len(members):
            raise WorkbookError(DAMAGED)
        self.manifest = self._read_manifest()
        self.parts: dict[str, dict[str, Any]] = self.manifest["parts"]
        if set(self.sizes) != {MANIFEST, *self.parts}:
            raise WorkbookError(DAMAGED)

    @property
    def kind(self) -> str:
        """EVERYTHING or ONE_BUILD."""
        return str(self.manifest["kind"])

    @property
    def labels(self) -> list[str]:
        """The models that have rows here."""
        names = (name for name in self.parts if name.startswith("rows/"))
        return [name.removeprefix("rows/").removesuffix(".jsonl") for name in names]

    @property
    def uploads(self) -> list[str]:
        """Names of the stored files."""
        start = "uploads/"
        return [name.removeprefix(start) for name in self.parts if name.startswith(start)]

    def check(self) -> None:
        """Read every part once and compare it with the manifest."""
        for name, entry in self.parts.items():
            digest = hashlib.sha256()
            with self._open(name) as stream:
                while chunk := stream.read(COPY_BYTES):
                    digest.update(chunk)
            if digest.hexdigest() != entry.get("sha256"):
                raise WorkbookError(DAMAGED)

    def columns(self, label: str) -> list[str]:
        """Names of the columns of a model's rows."""
        with self._open(f"rows/{label}.jsonl") as stream:
            return [str(name) for name in _read_line(stream) or []]

    def rows(self, label: str) -> Iterator[list[Any]]:
        """A model's rows, values as JSON has them."""
        with self._open(f"rows/{label}.jsonl") as stream:
            width = len(_read_line(stream) or [])
            while (row := _read_line(stream)) is not None:
                if len(row) != width:
                    raise WorkbookError(DAMAGED)
                yield row

    @contextmanager
    def upload(self, name: str) -> Iterator[IO[bytes]]:
        """One stored file, open for reading."""
        with self._open(f"uploads/{name}") as stream:
            yield stream

    @contextmanager
    def _open(self, name: str) -> Iterator[IO[bytes]]:
        try:
            stream = self.archive.open(name)
        except _UNREADABLE:
            raise WorkbookError(DAMAGED) from None
        try:
            with stream:
                yield stream
        except (zipfile.BadZipFile, EOFError, zlib.error):
            raise WorkbookError(DAMAGED) from None

    def _read_manifest(self) -> dict[str, Any]:
        if not 0 < self.sizes.get(MANIFEST, 0) <= MAX_MANIFEST:
            raise WorkbookError("This file is neither a backup nor an exported build.")
        with self._open(MANIFEST) as stream:
            read = _parse(stream.read())
        if (
            not isinstance(read, dict)
            or read.get("format") != FORMAT
            or read.get("kind") not in (EVERYTHING, ONE_BUILD)
        ):
            raise WorkbookError(
                "Another version of the program wrote this file: import it there, or "
                "upgrade this one."
            )
        parts = read.get("parts")
        if not isinstance(parts, dict) or not all(isinstance(p, dict) for p in parts.values()):
            raise WorkbookError(DAMAGED)
        return read


def _read_line(stream: IO[bytes]) -> list[Any] | None:
    line = stream.readline(MAX_LINE + 1)
    if not line:
        return None
    read = _parse(line) if len(line) <= MAX_LINE else None
    if not isinstance(read, list):
        raise WorkbookError(DAMAGED)
    return read


def _parse(data: bytes) -> Any:
    def refuse(text: str) -> None:
        raise ValueError(text)

    try:
        return json.loads(data, parse_constant=refuse)
    except (ValueError, RecursionError):
        raise WorkbookError(DAMAGED) from None
