"""Sealing a backup with the operator's key: nobody without it can read it, or change it unseen.

A sealed file is a head and chunks. The head: ``MAGIC``, a salt of 32 random bytes, and 16 bytes
that tell whether a key is the right one. HKDF-SHA-256 (RFC 5869) makes of the operator's key and
the salt a key for this file alone, and those 16 bytes. Each chunk of 1 MiB (the last may be
shorter) is sealed by AES-256-GCM (NIST SP 800-38D), with 16 bytes behind it that prove it. Its
nonce is its number and whether it is the last, and the head is proved along: so a chunk that was
changed, left out, moved, or taken from another file does not open, nor does a file cut short.

No nonce comes twice under one key, because no two files have the same key.
"""

import hmac
import io
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, Any

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from .faults import WorkbookError

MAGIC = b"buildledger sealed 1\n"
SALT_BYTES, PROOF_BYTES, KEY_BYTES, TAG_BYTES = 32, 16, 32, 16
HEAD_BYTES = len(MAGIC) + SALT_BYTES + PROOF_BYTES
CHUNK_BYTES = 1 << 20
STEP = CHUNK_BYTES + TAG_BYTES
_INFO = b"buildledger backup"

ANOTHER_KEY = (
    "This backup was sealed with another key, or its beginning was changed: set BACKUP_KEY_FILE"
    " to the key of that time."
)
CUT_SHORT = "The end of this sealed backup is missing or was changed: use another copy."
CHANGED = "This sealed backup is damaged or was changed: use another copy."


def is_sealed(stream: IO[bytes]) -> bool:
    """Whether a file says of itself that it is sealed; reads its beginning."""
    stream.seek(0)
    found = stream.read(len(MAGIC)) == MAGIC
    stream.seek(0)
    return found


@contextmanager
def sealing(stream: IO[bytes], key: bytes | None) -> Iterator[IO[bytes]]:
    """Where to write what is to be sealed into a stream; the stream itself without a key."""
    if key is None:
        yield stream
        return
    writer = _Writer(stream, key)
    # Bare of tell and seek, so that nobody goes back to what is sealed already.
    yield writer  # type: ignore[misc]
    writer.finish()


def unsealed(stream: IO[bytes], key: bytes) -> IO[bytes]:
    """What a sealed file holds, to be read and sought in; proved whole before it is given.

    Raises WorkbookError with a sentence.
    """
    reader = _Reader(stream, key)
    reader.prove()
    return io.BufferedReader(reader, CHUNK_BYTES)


def _keys(key: bytes, salt: bytes) -> tuple[AESGCM, bytes]:
    """The key of one file, and what tells that it is the right one."""
    made = HKDF(SHA256(), KEY_BYTES + PROOF_BYTES, salt, _INFO).derive(key)
    return AESGCM(made[:KEY_BYTES]), made[KEY_BYTES:]


def _nonce(number: int, is_last: bool) -> bytes:
    return number.to_bytes(11, "big") + bytes([is_last])


class _Writer:
    """Seals what is written, a chunk behind: the last one is known as such at the end only."""

    def __init__(self, stream: IO[bytes], key: bytes):
        salt = secrets.token_bytes(SALT_BYTES)
        self.cipher, proof = _keys(key, salt)
        self.head = MAGIC + salt + proof
        self.stream, self.number, self.waiting = stream, 0, bytearray()
        stream.write(self.head)

    def write(self, data: bytes) -> int:
        self.waiting += data
        while len(self.waiting) > CHUNK_BYTES:
            self._seal(CHUNK_BYTES, is_last=False)
        return len(data)

    def flush(self) -> None:
        """A part of a chunk cannot be sealed."""

    def finish(self) -> None:
        self._seal(len(self.waiting), is_last=True)

    def _seal(self, size: int, is_last: bool) -> None:
        chunk = bytes(self.waiting[:size])
        del self.waiting[:size]
        nonce = _nonce(self.number, is_last)
        self.stream.write(self.cipher.encrypt(nonce, chunk, self.head))
        self.number += 1


class _Reader(io.RawIOBase):
    """Opens a sealed file chunk by chunk, at any place of it."""

    def __init__(self, stream: IO[bytes], key: bytes):
        self.stream = stream
        stream.seek(0)
        self.head = stream.read(HEAD_BYTES)
        if len(self.head) < HEAD_BYTES:
            raise WorkbookError(CUT_SHORT)
        self.cipher, proof = _keys(key, self.head[len(MAGIC) : -PROOF_BYTES])
        if not hmac.compare_digest(proof, self.head[-PROOF_BYTES:]):
            raise WorkbookError(ANOTHER_KEY)
        sealed = stream.seek(0, io.SEEK_END) - HEAD_BYTES
        self.chunks = -(-sealed // STEP)
        self.size = sealed - self.chunks * TAG_BYTES
        if not self.chunks or sealed - (self.chunks - 1) * STEP < TAG_BYTES:
            raise WorkbookError(CUT_SHORT)
        self.place, self.number, self.chunk = 0, -1, b""

    def prove(self) -> None:
        """Open every chunk once."""
        for number in range(self.chunks):
            self._open(number)

    def _open(self, number: int) -> bytes:
        if number == self.number:
            return self.chunk
        self.stream.seek(HEAD_BYTES + number * STEP)
        is_last = number == self.chunks - 1
        try:
            nonce = _nonce(number, is_last)
            self.chunk = self.cipher.decrypt(nonce, self.stream.read(STEP), self.head)
        except InvalidTag:
            raise WorkbookError(CUT_SHORT if is_last else CHANGED) from None
        self.number = number
        return self.chunk

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        start = {io.SEEK_SET: 0, io.SEEK_CUR: self.place, io.SEEK_END: self.size}[whence]
        if start + offset < 0:
            raise OSError("before the beginning")
        self.place = start + offset
        return self.place

    def readinto(self, buffer: Any) -> int:
        if self.place >= self.size:
            return 0
        number, within = divmod(self.place, CHUNK_BYTES)
        piece = self._open(number)[within : within + len(buffer)]
        buffer[: len(piece)] = piece
        self.place += len(piece)
        return len(piece)
