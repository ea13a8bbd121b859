"""What lies sealed in the database: opens for its purpose, owner and key, and for nothing else."""

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from materials.services.sealed import MARK, Unreadable, seal, unseal

FOR = {"purpose": "second factor", "owner": 7}


def test_hkdf_is_that_of_the_standard():
    """RFC 5869 (May 2010), appendix A.1; from memory, and worked out here."""
    made = HKDF(
        algorithm=SHA256(),
        length=42,
        salt=bytes.fromhex("000102030405060708090a0b0c"),
        info=bytes.fromhex("f0f1f2f3f4f5f6f7f8f9"),
    ).derive(b"\x0b" * 22)
    assert made.hex() == (
        "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865"
    )


def test_the_cipher_is_that_of_the_standard():
    """AES-256-GCM, test case 14 of McGrew and Viega, “The Galois/Counter Mode”; from memory."""
    made = AESGCM(bytes(32)).encrypt(bytes(12), bytes(16), None)
    assert made.hex() == "cea7403d4d606b6e074ec5d3baf39d18d0d1c8a799996bf0265b98b5d48ab919"


def test_it_opens_again_and_tells_nothing():
    sealed = [seal("LIMEPUTTY234", **FOR) for _ in range(2)]
    assert [unseal(each, **FOR) for each in sealed] == ["LIMEPUTTY234"] * 2
    assert sealed[0] != sealed[1]
    assert "LIMEPUTTY" not in sealed[0]
    assert sealed[0].startswith(MARK)
    assert len(seal("K" * 32, **FOR)) < 200, "the longest key fits its column"


@pytest.mark.parametrize(
    "other", [{"purpose": "other", "owner": 7}, {"purpose": "second factor", "owner": 8}]
)
def test_it_opens_for_nothing_else(other):
    with pytest.raises(Unreadable):
        unseal(seal("LIMEPUTTY234", **FOR), **other)


def test_another_key_opens_nothing_but_an_earlier_one_that_is_kept_does(settings):
    sealed = seal("LIMEPUTTY234", **FOR)
    before, settings.SECRET_KEY = settings.SECRET_KEY, "another-one"
    with pytest.raises(Unreadable):
        unseal(sealed, **FOR)
    settings.SECRET_KEY_FALLBACKS = [before]
    assert unseal(sealed, **FOR) == "LIMEPUTTY234"


def test_what_was_changed_or_never_sealed_is_refused():
    sealed = seal("LIMEPUTTY234", **FOR)
    last = "A" if sealed[-6] != "A" else "B"
    wrong = [f"{sealed[:-6]}{last}{sealed[-5:]}", sealed[:20], MARK, "", "JBSWY3DP", f"{MARK}é"]
    for each in wrong:
        with pytest.raises(Unreadable):
            unseal(each, **FOR)
