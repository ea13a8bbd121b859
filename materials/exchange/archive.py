"""The zip archive around a workbook, checked before anything in it is believed.

A few kilobytes can unpack to terabytes, one cell in the last corner of a sheet can make a
reader reserve room for the whole sheet, and a formula that was never calculated reads like an
empty cell. So the directory is judged first (OWASP ASVS 5.0.0 requirement 5.2.3: number and
unpacked size of the files in an archive), every part is unpacked once with its own claim as
the limit, and each sheet's XML is walked for what the fast reader does not tell.
"""

import io
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field

from .faults import WorkbookError

MAX_FILE_BYTES = 60 * 1024 * 1024
MAX_UNPACKED_BYTES = 200 * 1024 * 1024
MAX_MEMBERS = 2000
# Sheets of repeated rows pack about 50 to 1; deflate's own limit is 1032 to 1.
MAX_RATIO = 400
RATIO_FROM_BYTES = 8 * 1024 * 1024
# Limits of the applications that write ISO/IEC 29500 files.
MAX_ROWS, MAX_COLUMNS = 1_048_576, 16_384
# The reader holds a sheet as one block from its first to its last filled cell.
MAX_BLOCK_CELLS = 12_000_000
# One long text that is stored once can stand in a million cells.
MAX_TEXT_LENGTH = 400_000_000
CHUNK = 1 << 18
LOCAL_HEADER = struct.Struct("<4s22xHH")
DAMAGED = "The file is damaged: open it in a spreadsheet program, save it again and try again."
ENCRYPTED = "The workbook is encrypted: save it without a password and try again."


def _part_name(name: str) -> str:
    return name.replace("\\", "/").casefold()


@dataclass
class SheetScan:
    """What one sheet holds beyond plain values. Rows and columns count from 1."""

    last_row: int = 0
    last_column: int = 0
    unsaved: set[tuple[int, int]] = field(default_factory=set)
    errors: set[tuple[int, int]] = field(default_factory=set)
    merges: list[tuple[int, int, int, int]] = field(default_factory=list)
    text_length: int = 0
    cells: int = 0

    def fill(self, row: int, column: int) -> None:
        """Note that a cell holds something."""
        self.last_row = max(self.last_row, row)
        self.last_column = max(self.last_column, column)

    def check(self, title: str) -> None:
        """Raises WorkbookError when the filled block is too large to be read."""
        if self.last_column > MAX_COLUMNS or self.last_row > MAX_ROWS:
            raise WorkbookError(
                f"The sheet {title} has more than {MAX_COLUMNS:,} columns or {MAX_ROWS:,} rows:"
                " keep only the table itself."
            )
        if self.text_length > MAX_TEXT_LENGTH:
            raise WorkbookError(
                f"The sheet {title} holds more text than can be read: keep only the table itself."
            )
        if self.last_row * self.last_column > MAX_BLOCK_CELLS:
            raise WorkbookError(
                f"The sheet {title} reaches to row {self.last_row:,}, column"
                f" {self.last_column:,}: delete what is far below or beside the table."
            )


class Archive:
    """A checked zip archive. Raises WorkbookError with a sentence when it is not safe to read."""

    def __init__(self, data: bytes):
        self.data = data
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as directory:
                members = directory.infolist()
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, struct.error):
            raise WorkbookError(DAMAGED) from None
        if len(members) > MAX_MEMBERS:
            raise WorkbookError(
                f"The file holds {len(members):,} parts, more than the {MAX_MEMBERS:,} of any"
                " workbook: save the tables alone in a new workbook."
            )
        unpacked = sum(member.file_size for member in members)
        packed = sum(member.compress_size for member in members)
        too_dense = unpacked > RATIO_FROM_BYTES and unpacked > packed * MAX_RATIO
        if unpacked > MAX_UNPACKED_BYTES or too_dense:
            raise WorkbookError(
                f"The file would unpack to {unpacked // 1024 // 1024:,} MB, too much for what it"
                " is: save the tables alone in a new workbook, or split it into several."
            )
        # Names are found without case, as the reader does; two of one name would let the part
        # that is checked differ from the part that is read.
        self.members = {_part_name(member.filename): member for member in members}
        if len(self.members) < len(members):
            raise WorkbookError(DAMAGED)
        if any(member.flag_bits & 1 for member in members):
            raise WorkbookError(ENCRYPTED)
        for member in members:
            # Sizes in the directory are only claims, so every part is unpacked once to see.
            for _ in self._unpack(member):
                pass

    def __contains__(self, name: str) -> bool:
        return _part_name(name) in self.members

    def read(self, name: str) -> Iterator[bytes]:
        """The unpacked part in chunks; nothing where there is no such part."""
        if member := self.members.get(_part_name(name)):
            yield from self._unpack(member)

    def _unpack(self, member: zipfile.ZipInfo) -> Iterator[bytes]:
        at = member.header_offset
        header = self.data[at : at + LOCAL_HEADER.size]
        if at < 0 or len(header) < LOCAL_HEADER.size:
            raise WorkbookError(DAMAGED)
        mark, name_length, extra_length = LOCAL_HEADER.unpack(header)
        start = at + LOCAL_HEADER.size + name_length + extra_length
        raw = memoryview(self.data)[start : start + member.compress_size]
        if mark != b"PK\x03\x04" or len(raw) < member.compress_size:
            raise WorkbookError(DAMAGED)
        left = member.file_size
        for chunk in self._chunks(raw, member.compress_type):
            left -= len(chunk)
            if left < 0:
                raise WorkbookError(DAMAGED)
            yield chunk
        if left:
            raise WorkbookError(DAMAGED)

    @staticmethod
    def _chunks(raw: memoryview, method: int) -> Iterator[bytes]:
        if method == zipfile.ZIP_STORED:
            for start in range(0, len(raw), CHUNK):
                yield bytes(raw[start : start + CHUNK])
            return
        if method != zipfile.ZIP_DEFLATED:
            raise WorkbookError(DAMAGED)
        inflate = zlib.decompressobj(-zlib.MAX_WBITS)
        try:
            for start in range(0, len(raw), CHUNK):
                waiting: bytes | memoryview = raw[start : start + CHUNK]
                while len(waiting) and not inflate.eof:
                    yield inflate.decompress(waiting, CHUNK * 4)
                    waiting = inflate.unconsumed_tail
            yield inflate.flush()
        except zlib.error:
            raise WorkbookError(DAMAGED) from None
