"""Texts that lie in the database sealed: who gets at the tables, or a backup, cannot read them.

AES-256-GCM under a key derived from ``SECRET_KEY`` (HKDF, RFC 5869, SHA-256), by the package
``cryptography``. A text is sealed for one purpose and one owner, and opens for no other. A key
that was changed still opens what it sealed while it stands in ``SECRET_KEY_FALLBACKS``.
"""

import base64
import binascii
import secrets
from contextlib import suppress

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings
from django.utils.encoding import force_bytes

# What sealed texts begin with; a text without it was stored before there was sealing.
MARK = "s1:"
# NIST SP 800-38D, 5.2.1.1: 96 bits are recommended for the nonce.
NONCE_BYTES = 12


class Unreadable(ValueError):
    """It was sealed under another key, for something else, or was changed since."""


def seal(text: str, *, purpose: str, owner: int) -> str:
    """A text as it may be stored: printable, longer by some 40 letters and by a third."""
    nonce = secrets.token_bytes(NONCE_BYTES)
    made = AESGCM(_key(settings.SECRET_KEY, purpose)).encrypt(nonce, text.encode(), _of(owner))
    return MARK + base64.urlsafe_b64encode(nonce + made).decode()


def unseal(stored: str, *, purpose: str, owner: int) -> str:
    """The text again. Raises Unreadable."""
    try:
        raw = base64.urlsafe_b64decode(stored.removeprefix(MARK))
    except (binascii.Error, ValueError):
        raise Unreadable("no sealed text") from None
    nonce, made = raw[:NONCE_BYTES], raw[NONCE_BYTES:]
    if not stored.startswith(MARK) or len(nonce) < NONCE_BYTES:
        raise Unreadable("no sealed text")
    for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS):
        with suppress(InvalidTag):
            return AESGCM(_key(secret, purpose)).decrypt(nonce, made, _of(owner)).decode()
    raise Unreadable("sealed under another key")


def _key(secret: str | bytes, purpose: str) -> bytes:
    info = f"materials.sealed {purpose}".encode()
    return HKDF(algorithm=SHA256(), length=32, salt=None, info=info).derive(force_bytes(secret))


def _of(owner: int) -> bytes:
    return str(owner).encode()
