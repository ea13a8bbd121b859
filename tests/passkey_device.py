"""A device that makes and uses passkeys, without a browser."""

import json
import struct
from hashlib import sha256

from cryptography.hazmat.primitives.asymmetric import ec, ed25519
from cryptography.hazmat.primitives.hashes import SHA256
from fido2 import cbor
from fido2.cose import ES256, CoseKey, EdDSA
from fido2.utils import websafe_encode

from materials.services.passkeys import Site

SITE = Site("ledger.example", "https://ledger.example")
USER_PRESENT, KEY_INSIDE = 0x01, 0x40


class Device:
    """What makes and uses passkeys, here with all that can go wrong."""

    def __init__(self, site: Site = SITE, number: int = 1, kind: str = "es256"):
        self.site, self.count, self.id = site, 0, sha256(bytes([number])).digest()
        if kind == "es256":
            self.key = ec.generate_private_key(ec.SECP256R1())
            self.public: CoseKey = ES256.from_cryptography_key(self.key.public_key())
        else:
            self.key = ed25519.Ed25519PrivateKey.generate()
            self.public = EdDSA.from_cryptography_key(self.key.public_key())

    @property
    def credential(self) -> bytes:
        """What the server keeps of it: no maker, identifier, public key."""
        return bytes(16) + struct.pack(">H", len(self.id)) + self.id + cbor.encode(self.public)

    def said(self, kind: str, challenge: str, **other) -> bytes:
        origin = {"type": kind, "challenge": challenge, "origin": self.site.origin}
        return json.dumps(origin | {"crossOrigin": False} | other).encode()

    def data(self, flags: int, more: bytes = b"", host: str = "") -> bytes:
        named = sha256((host or self.site.host).encode()).digest()
        return named + struct.pack(">BI", flags, self.count) + more

    def make(self, challenge: str, *, flags=USER_PRESENT | KEY_INSIDE, host="", **other) -> str:
        """The answer to being asked for a new passkey."""
        data = self.data(flags, self.credential if flags & KEY_INSIDE else b"", host)
        made = cbor.encode({"fmt": "none", "attStmt": {}, "authData": data})
        kind = other.pop("type", "webauthn.create")
        return self.answer(self.said(kind, challenge, **other), attestationObject=made)

    def sign(self, challenge: str, *, flags=USER_PRESENT, host="", handle=None, **other) -> str:
        """The answer to being asked for this passkey; it counts how often."""
        self.count += 1
        kind = other.pop("type", "webauthn.get")
        said, data = self.said(kind, challenge, **other), self.data(flags, host=host)
        signed = data + sha256(said).digest()
        if isinstance(self.key, ed25519.Ed25519PrivateKey):
            signature = self.key.sign(signed)
        else:
            signature = self.key.sign(signed, ec.ECDSA(SHA256()))
        more = {"userHandle": handle} if handle else {}
        return self.answer(said, authenticatorData=data, signature=signature, **more)

    def answer(self, said: bytes, **parts: bytes) -> str:
        named = {"clientDataJSON": said} | parts
        return json.dumps(
            {
                "id": websafe_encode(self.id),
                "rawId": websafe_encode(self.id),
                "type": "public-key",
                "clientExtensionResults": {},
                "response": {name: websafe_encode(part) for name, part in named.items()},
            }
        )
