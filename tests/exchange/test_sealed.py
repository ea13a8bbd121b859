"""Sealed backups: published vectors, every way to spoil one, and what the commands say."""

import io
import secrets
import zipfile

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from materials.exchange import sealed
from materials.exchange.backup_file import EVERYTHING
from materials.exchange.backups import open_file, write_backup
from materials.exchange.faults import WorkbookError
from materials.exchange.sealed import HEAD_BYTES, STEP, is_sealed, sealing, unsealed

from .test_commands import run

KEY = bytes(range(32))
PLAIN = bytes(range(256)) * 4096 * 2 + b"and a little more"  # two chunks and a bit


def seal(data: bytes, key: bytes = KEY) -> bytes:
    stream = io.BytesIO()
    with sealing(stream, key) as target:
        for at in range(0, len(data), 300_000):
            target.write(data[at : at + 300_000])
    return stream.getvalue()


def open_again(data: bytes, key: bytes = KEY) -> bytes:
    return unsealed(io.BytesIO(data), key).read()


# The parts it is made of.


def test_hkdf_is_that_of_the_standard():
    """RFC 5869, appendix A.1, test case 1; read in secondary copies of the vectors."""
    info = bytes.fromhex("f0f1f2f3f4f5f6f7f8f9")
    salt = bytes.fromhex("000102030405060708090a0b0c")
    made = HKDF(SHA256(), 42, salt, info).derive(b"\x0b" * 22)
    assert made.hex() == (
        "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865"
    )


@pytest.mark.parametrize(
    ("plain", "result"),
    [
        (b"", "530f8afbc74536b9a963b4f1c4cb738b"),
        (bytes(16), "cea7403d4d606b6e074ec5d3baf39d18d0d1c8a799996bf0265b98b5d48ab919"),
    ],
)
def test_gcm_is_that_of_the_standard(plain, result):
    """The specification of GCM submitted to NIST (McGrew, Viega), appendix B, test cases 13 and
    14, key and nonce of zeros; read in secondary copies of the vectors."""
    assert AESGCM(bytes(32)).encrypt(bytes(12), plain, b"").hex() == result


def test_a_file_is_what_it_is_said_to_be(monkeypatch):
    """Put together a second time by the words of the module, so that an old backup opens."""
    salt = b"s" * 32
    monkeypatch.setattr(secrets, "token_bytes", lambda size: salt[:size])
    made = HKDF(SHA256(), 48, salt, b"buildledger backup").derive(KEY)
    head = b"buildledger sealed 1\n" + salt + made[32:]
    cipher = AESGCM(made[:32])
    first, last = PLAIN[: 1 << 20], PLAIN[1 << 20 : 1 << 21]
    expected = head + cipher.encrypt(bytes(12), first, head)
    expected += cipher.encrypt(bytes(10) + b"\x01\x01", last, head)
    assert seal(PLAIN[: 1 << 21]) == expected
    assert open_again(expected) == PLAIN[: 1 << 21]


# Whole.


@pytest.mark.parametrize("size", [0, 1, (1 << 20) - 1, 1 << 20, (1 << 20) + 1, len(PLAIN)])
def test_what_was_sealed_comes_back(size):
    data = seal(PLAIN[:size])
    assert open_again(data) == PLAIN[:size]
    assert is_sealed(io.BytesIO(data))
    assert PLAIN[100:116] not in data


def test_no_two_files_have_the_same_key():
    one, other = seal(PLAIN[:99]), seal(PLAIN[:99])
    assert one[:HEAD_BYTES] != other[:HEAD_BYTES]
    assert one[HEAD_BYTES:] != other[HEAD_BYTES:]


def test_any_place_can_be_sought():
    reader = unsealed(io.BytesIO(seal(PLAIN)), KEY)
    for at in (0, (1 << 20) - 3, 1 << 20, (1 << 21) - 1, len(PLAIN) - 4, 5):
        assert reader.seek(at) == at
        assert reader.read(9) == PLAIN[at : at + 9]
    assert reader.seek(-3, io.SEEK_END) == len(PLAIN) - 3
    assert reader.read() == PLAIN[-3:]
    assert reader.seek(len(PLAIN) + 99)
    assert reader.read(1) == b""


# Spoiled.


def flipped(data: bytes, at: int) -> bytes:
    return data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]


def chunks(data: bytes) -> tuple[bytes, list[bytes]]:
    body = data[HEAD_BYTES:]
    return data[:HEAD_BYTES], [body[at : at + STEP] for at in range(0, len(body), STEP)]


WHOLE = seal(PLAIN)
HEAD, PARTS = chunks(WHOLE)
_, OTHERS = chunks(seal(PLAIN))
_, LONGER = chunks(seal(PLAIN + bytes(1 << 20)))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (flipped(WHOLE, len(sealed.MAGIC)), sealed.ANOTHER_KEY),
        (flipped(WHOLE, HEAD_BYTES - 1), sealed.ANOTHER_KEY),
        (flipped(WHOLE, HEAD_BYTES), sealed.CHANGED),
        (flipped(WHOLE, HEAD_BYTES + STEP - 1), sealed.CHANGED),
        (flipped(WHOLE, len(WHOLE) - 1), sealed.CUT_SHORT),
        (WHOLE[:-1], sealed.CUT_SHORT),
        (WHOLE[: HEAD_BYTES + 2 * STEP], sealed.CUT_SHORT),
        (WHOLE[: HEAD_BYTES + STEP + 7], sealed.CUT_SHORT),
        (WHOLE[:HEAD_BYTES], sealed.CUT_SHORT),
        (WHOLE[: HEAD_BYTES - 1], sealed.CUT_SHORT),
        (WHOLE + b"x", sealed.CUT_SHORT),
        (WHOLE + PARTS[2], sealed.CUT_SHORT),
        (HEAD + PARTS[1] + PARTS[0] + PARTS[2], sealed.CHANGED),
        (HEAD + PARTS[0] + PARTS[2], sealed.CUT_SHORT),
        (HEAD + PARTS[0] + OTHERS[1] + PARTS[2], sealed.CHANGED),
        (HEAD + PARTS[0] + PARTS[1] + LONGER[2], sealed.CUT_SHORT),
    ],
    ids=["salt", "proof", "first byte", "first tag", "last tag", "a byte less", "a chunk less",
         "within a chunk", "head alone", "less than a head", "a byte more", "a chunk more",
         "order", "one left out", "another file's", "another file's end"],
)  # fmt: skip
def test_what_was_spoiled_does_not_open(data, says):
    with pytest.raises(WorkbookError) as refused:
        open_again(data)
    assert str(refused.value) == says


def test_all_of_it_is_proved_before_any_of_it_is_given():
    with pytest.raises(WorkbookError):
        unsealed(io.BytesIO(flipped(WHOLE, len(WHOLE) - 1)), KEY)


def test_another_key_does_not_open_it():
    with pytest.raises(WorkbookError, match="sealed with another key"):
        open_again(WHOLE, KEY[::-1])


def test_every_byte_counts():
    small = seal(b"forty planks")
    for at in range(len(sealed.MAGIC), len(small)):
        with pytest.raises(WorkbookError):
            open_again(flipped(small, at))


# A backup.


@pytest.mark.django_db
def test_a_sealed_backup_is_read_as_another_and_hides_what_it_holds(records, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    stream, plain = io.BytesIO(), io.BytesIO()
    counts = write_backup(stream, key=KEY)
    assert write_backup(plain) == counts
    file = open_file(stream, key=KEY)
    file.check()
    assert file.kind == EVERYTHING
    label = "materials.purchaseline"
    assert list(file.rows(label)) == list(open_file(plain, key=None).rows(label))
    with zipfile.ZipFile(plain) as archive:
        assert archive.namelist()
    assert b"manifest.json" in plain.getvalue()
    assert b"manifest.json" not in stream.getvalue()
    with pytest.raises(WorkbookError, match="This backup is sealed: set BACKUP_KEY_FILE"):
        open_file(stream, key=None)


@pytest.mark.django_db
def test_the_commands_keep_to_the_key(build, settings, tmp_path):
    """Refused before anything is looked at, and so before the ledger is."""
    settings.MEDIA_ROOT = tmp_path / "media"
    opened, closed, one = tmp_path / "open.zip", tmp_path / "all.sealed", tmp_path / "one.zip"
    assert run("backup", opened)[0] == 0
    settings.BACKUP_KEY = KEY
    assert run("backup", closed)[0] == 0
    assert closed.read_bytes().startswith(sealed.MAGIC)
    # A build's file is for another server, which has another key.
    assert run("backup", one, "--build", "Hill shed")[0] == 0
    assert zipfile.is_zipfile(one)
    assert run("restore", one, "--owner", "viewer")[:2] == (0, "Added the build “Hill shed”.\n")

    def refused(file, *words):
        code, printed, said = run("restore", file, *words)
        assert (code, printed, len(said.splitlines())) == (1, "", 1)
        return said

    assert "--accept-unsealed" in refused(opened, "--replace")
    assert "already holds accounts" in refused(opened, "--accept-unsealed")
    assert "already holds accounts" in refused(closed)
    closed.write_bytes(flipped(closed.read_bytes(), HEAD_BYTES + 9))
    assert "the end of this sealed" in refused(closed, "--replace").lower()
    settings.BACKUP_KEY = KEY[::-1]
    assert "sealed with another key" in refused(closed, "--replace")
    settings.BACKUP_KEY = None
    assert "This backup is sealed: set BACKUP_KEY_FILE" in refused(closed, "--replace")


@pytest.mark.django_db(transaction=True)
def test_a_sealed_backup_is_put_back(build, settings, tmp_path):
    settings.MEDIA_ROOT, settings.BACKUP_KEY = tmp_path / "media", KEY
    file = tmp_path / "all.sealed"
    assert run("backup", file)[0] == 0
    build.name = "Renamed"
    build.save()
    code, printed, said = run("restore", file, "--replace")
    assert (code, said) == (0, "")
    assert "Restored 1 build" in printed
    build.refresh_from_db()
    assert build.name == "Hill shed"
    assert "Deleted" in run("restore", "--drop-kept")[1]
