"""Codes of six digits that change each half minute (TOTP), and recovery codes.

TOTP is a few lines over the standard library's HMAC and has published test values, so no package
is taken for it: django-otp keeps recovery codes as plain text, django-allauth brings accounts,
addresses and templates of its own beside ours.
"""

import base64
import binascii
import hashlib
import hmac
import secrets
from datetime import datetime
from urllib.parse import quote

# RFC 6238, 4.1 and 5.2: a time step of 30 seconds; one step of delay on either side is allowed.
SECONDS, AROUND, DIGITS = 30, 1, 6
# RFC 4226, 4, R6: the shared secret should have 160 bits.
KEY_BYTES = 20
# No letter or digit that is taken for another one.
_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
_LENGTH, _GROUP = 16, 4


def new_key() -> str:
    """A new key in base 32, as apps take it."""
    return base64.b32encode(secrets.token_bytes(KEY_BYTES)).decode()


def code_of(key: bytes, counter: int, digits: int = DIGITS, method: str = "sha1") -> str:
    """The code of a counter (RFC 4226, 5.3); RFC 6238 counts half minutes since 1970."""
    digest = hmac.digest(key, counter.to_bytes(8, "big"), method)
    offset = digest[-1] & 15
    number = int.from_bytes(digest[offset : offset + 4], "big") & 0x7FFFFFFF
    return f"{number % 10**digits:0{digits}d}"


def step_at(now: datetime) -> int:
    """The number of a moment's half minute."""
    return int(now.timestamp()) // SECONDS


def find_step(key: str, typed: str, now: datetime) -> int | None:
    """The half minute whose code was typed, if it is this one or one beside it."""
    try:
        raw = base64.b32decode(key)
    except binascii.Error:
        return None
    here = step_at(now)
    for step in range(here - AROUND, here + AROUND + 1):
        if hmac.compare_digest(code_of(raw, step).encode(), tidy_code(typed).encode()):
            return step
    return None


def setup_address(key: str, username: str, issuer: str = "buildledger") -> str:
    """What a QR code hands to an app: the form that apps of all makers read (otpauth)."""
    label = f"{quote(issuer)}:{quote(username)}"
    return f"otpauth://totp/{label}?secret={key}&issuer={quote(issuer)}"


def new_recovery_code() -> str:
    """Sixteen signs out of 31 (79 bits), in groups of four."""
    signs = "".join(secrets.choice(_SIGNS) for _ in range(_LENGTH))
    return "-".join(signs[at : at + _GROUP] for at in range(0, _LENGTH, _GROUP))


def tidy_code(typed: str) -> str:
    """A code as typed, without spaces, hyphens and capitals."""
    return "".join(sign for sign in typed.lower() if sign.isalnum())


def hash_code(code: str, salt: str) -> str:
    """What is kept of a recovery code: scrypt (RFC 7914), 16 MB of work, in hexadecimal."""
    made = hashlib.scrypt(
        tidy_code(code).encode(), salt=bytes.fromhex(salt), n=2**14, r=8, p=1, dklen=32
    )
    return made.hex()
