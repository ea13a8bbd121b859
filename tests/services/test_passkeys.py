"""Passkeys: the published values, and every way in which an answer can be wrong."""

import json
from datetime import UTC, datetime

import pytest
from fido2.utils import websafe_decode, websafe_encode

from materials.models import AccountEvent, Attempt, Passkey
from materials.services.attempt_limits import CODES, TooMany
from materials.services.errors import LedgerError
from materials.services.passkeys import (
    MOST,
    NOT_ADDED,
    Site,
    add_passkey,
    new_challenge,
    options_to_add,
    options_to_use,
    remove_passkey,
    use_passkey,
)
from tests.passkey_device import KEY_INSIDE, SITE, USER_PRESENT, Device

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 6, 6, 12, 0, tzinfo=UTC)


@pytest.fixture
def user(cast):
    return cast["owner"]


def added(user, device: Device, name="Phone", **wrong) -> Passkey:
    challenge = new_challenge()
    by = {"user": user, "site": device.site, "name": name, "now": NOW}
    answer = device.make(wrong.pop("challenge", challenge), **wrong)
    return add_passkey(**by, challenge=challenge, answer=answer)


def use(user, challenge: str, answer: str, site: Site = SITE) -> bool:
    by = {"user": user, "site": site, "now": NOW, "address": "192.0.2.1"}
    return use_passkey(**by, challenge=challenge, answer=answer)


def signs_in(user, device: Device, **wrong) -> bool:
    challenge = new_challenge()
    return use(user, challenge, device.sign(wrong.pop("challenge", challenge), **wrong))


# W3C, “Web Authentication: An API for accessing Public Key Credentials, Level 3”, section “Test
# Vectors”, “ES256 Credential with No Attestation” (site example.org). Read as quoted alike in the
# tests of two public programs, not at w3.org itself; the signature is checked here. Of the text
# that may stand in “extraData”, which nothing signs, the two quote different endings: it is left
# as in the later one.
W3C_SITE = Site("example.org", "https://example.org")
W3C_ID = "f91f391db4c9b2fde0ea70189cba3fb63f579ba6122b33ad94ff3ec330084be4"
W3C_NEW_CHALLENGE = "00c30fb78531c464d2b6771dab8d7b603c01162f2fa486bea70f283ae556e130"
W3C_NEW_SAID = (
    "7b2274797065223a22776562617574686e2e637265617465222c226368616c6c656e6765223a22414d4d507434"
    "557878475453746e63647134313759447742466938767049612d7077386f4f755657345441222c226f72696769"
    "6e223a2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a66616c73652c"
    "22657874726144617461223a22636c69656e74446174614a534f4e206d617920626520657874656e6465642077"
    "697468206164646974696f6e616c206669656c647320696e20746865206675747572652c207375636820617320"
    "746869733a20426b5165446a646354427258426941774a544c453551227d"
)
W3C_MADE = (
    "a363666d74646e6f6e656761747453746d74a068617574684461746158a4bfabc37432958b063360d3ad6461c9"
    "c4735ae7f8edd46592a5e0f01452b2e4b559000000008446ccb9ab1db374750b2367ff6f3a1f0020f91f391db4"
    "c9b2fde0ea70189cba3fb63f579ba6122b33ad94ff3ec330084be4a5010203262001215820afefa16f97ca9b2d"
    "23eb86ccb64098d20db90856062eb249c33a9b672f26df61225820930a56b87a2fca66334b03458abf879717c1"
    "2cc68ed73290af2e2664796b9220"
)
W3C_CHALLENGE = "39c0e7521417ba54d43e8dc95174f423dee9bf3cd804ff6d65c857c9abf4d408"
W3C_DATA = "bfabc37432958b063360d3ad6461c9c4735ae7f8edd46592a5e0f01452b2e4b51900000000"
W3C_SAID = (
    "7b2274797065223a22776562617574686e2e676574222c226368616c6c656e6765223a224f63446e5568515875"
    "6c5455506f334a5558543049393770767a7a59425039745a63685879617630314167222c226f726967696e223a"
    "2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a66616c73657d"
)
W3C_SIGNATURE = (
    "3046022100f50a4e2e4409249c4a853ba361282f09841df4dd4547a13a87780218deffcd380221008480ac0f0b"
    "93538174f575bf11a1dd5d78c6e486013f937295ea13653e331e87"
)


def as_sent(parts: dict[str, str]) -> str:
    """Published hexadecimal as a browser sends it."""
    plain = {name: websafe_encode(bytes.fromhex(part)) for name, part in parts.items()}
    name = websafe_encode(bytes.fromhex(W3C_ID))
    return json.dumps({"id": name, "rawId": name, "type": "public-key", "response": plain})


def test_the_published_passkey_is_added_and_answers(user):
    made = add_passkey(
        user=user,
        site=W3C_SITE,
        challenge=websafe_encode(bytes.fromhex(W3C_NEW_CHALLENGE)),
        answer=as_sent({"clientDataJSON": W3C_NEW_SAID, "attestationObject": W3C_MADE}),
        name="Published",
        now=NOW,
    )
    assert websafe_decode(made.credential_id).hex() == W3C_ID
    parts = {
        "clientDataJSON": W3C_SAID,
        "authenticatorData": W3C_DATA,
        "signature": W3C_SIGNATURE,
    }
    challenge = websafe_encode(bytes.fromhex(W3C_CHALLENGE))
    assert use(user, challenge, as_sent(parts), W3C_SITE)
    for name, text in parts.items():
        at = len(text) // 2
        spoilt = parts | {name: f"{text[:at]}{int(text[at], 16) ^ 1:x}{text[at + 1 :]}"}
        assert not use(user, challenge, as_sent(spoilt), W3C_SITE), name


@pytest.mark.parametrize("kind", ["es256", "ed25519"])
def test_one_is_added_and_signs_in_again_and_again(kind, user):
    device = Device(kind=kind)
    passkey = added(user, device)
    assert [signs_in(user, device) for _ in range(3)] == [True] * 3
    passkey.refresh_from_db()
    assert (passkey.sign_count, passkey.used_at, passkey.name) == (3, NOW, "Phone")
    assert not Attempt.objects.exists(), "only failures count"
    assert AccountEvent.objects.get(what="passkey added").about == "Phone"


def test_what_a_browser_is_asked_for(user):
    challenge = new_challenge()
    assert options_to_use(user=user, site=SITE, challenge=challenge) is None
    added(user, Device())
    asked = options_to_use(user=user, site=SITE, challenge=challenge)
    name = websafe_encode(Device().id)
    assert asked["rpId"] == "ledger.example"
    assert asked["challenge"] == challenge
    assert [each["id"] for each in asked["allowCredentials"]] == [name]
    new = options_to_add(user=user, site=SITE, challenge=challenge)
    assert [each["id"] for each in new["excludeCredentials"]] == [name]
    assert len(websafe_decode(new["user"]["id"])) == 32, "a digest, which tells nothing"
    assert -7 in [each["alg"] for each in new["pubKeyCredParams"]]
    assert len(websafe_decode(challenge)) == 32
    assert challenge != new_challenge()


WRONG_TO_ADD = {
    "another challenge": {"challenge": "A" * 43},
    "another origin": {"origin": "https://ledger.example.invalid"},
    "another port": {"origin": "https://ledger.example:8443"},
    "a name below": {"origin": "https://sub.ledger.example"},
    "not encrypted": {"origin": "http://ledger.example"},
    "within another site's page": {"crossOrigin": True},
    "another site": {"host": "ledger.invalid"},
    "made for use": {"type": "webauthn.get"},
    "nobody was there": {"flags": KEY_INSIDE},
    "no key": {"flags": USER_PRESENT},
}


@pytest.mark.parametrize("wrong", WRONG_TO_ADD)
def test_what_is_no_answer_to_a_wish_for_a_new_one(wrong, user):
    with pytest.raises(LedgerError, match=NOT_ADDED):
        added(user, Device(), **WRONG_TO_ADD[wrong])
    assert not Passkey.objects.exists()


def of_a_way_not_offered(device: Device) -> None:
    """A number for private use (RFC 9053, 10: below -65536), which no browser was asked for."""
    device.public = dict(device.public) | {3: -70000}


def of_a_long_name(device: Device) -> None:
    """Web Authentication, 7.1, step 25: 1023 bytes at most."""
    device.id = bytes(1024)


@pytest.mark.parametrize("change", [of_a_way_not_offered, of_a_long_name])
def test_a_passkey_that_no_device_should_make_is_refused(change, user):
    device = Device()
    change(device)
    with pytest.raises(LedgerError, match=NOT_ADDED):
        added(user, device)


def test_a_passkey_is_known_by_the_name_that_was_signed_along(user):
    challenge = new_challenge()
    answer = json.loads(Device().make(challenge))
    for other in ({}, {"id": "AAAA", "rawId": "AAAA"}):
        by = {"user": user, "site": SITE, "challenge": challenge, "name": "Phone", "now": NOW}
        if other:
            with pytest.raises(LedgerError, match=NOT_ADDED):
                add_passkey(**by, answer=json.dumps(answer | other))
        else:
            add_passkey(**by, answer=json.dumps(answer)).delete()


WRONG_TO_USE = {name: wrong for name, wrong in WRONG_TO_ADD.items() if name != "no key"}
WRONG_TO_USE |= {
    "made for use": {"type": "webauthn.create"},
    "nobody was there": {"flags": 0},
    "somebody else's": {"handle": b"somebody else"},
}


@pytest.mark.parametrize("wrong", WRONG_TO_USE)
def test_what_is_no_answer_to_a_sign_in(wrong, user):
    device = Device()
    added(user, device)
    assert not signs_in(user, device, **WRONG_TO_USE[wrong])
    assert signs_in(user, device)
    assert AccountEvent.objects.filter(what="wrong code").count() == 1


def test_after_a_change_of_the_secret_key_it_is_known_by_the_one_of_before(user, settings):
    device, challenge = Device(), new_challenge()
    asked = options_to_add(user=user, site=SITE, challenge=challenge)
    known_by = websafe_decode(asked["user"]["id"])
    added(user, device)
    before, settings.SECRET_KEY = settings.SECRET_KEY, "another-one"
    assert not signs_in(user, device, handle=known_by)
    settings.SECRET_KEY_FALLBACKS = ["one-between", before]
    assert signs_in(user, device, handle=known_by)
    assert not signs_in(user, device, handle=b"somebody else")


def test_an_answer_answers_one_challenge(user):
    device, challenge = Device(), new_challenge()
    added(user, device)
    answer = device.sign(challenge)
    assert use(user, challenge, answer)
    assert not use(user, new_challenge(), answer)
    assert not use(user, challenge, answer), "nor the same again, as its count did not go up"


def test_a_count_that_goes_back_tells_of_a_copy(user):
    device = Device()
    added(user, device)
    for _ in range(5):
        assert signs_in(user, device)
    device.count = 2
    assert not signs_in(user, device)
    assert AccountEvent.objects.get(what="passkey copied").about == "Phone"
    device.count = -1
    assert not signs_in(user, device), "nor does it begin at none again"
    device.count = 5
    assert signs_in(user, device)


def test_one_that_counts_nothing_works(user):
    device = Device()
    added(user, device)
    for _ in range(3):
        device.count = -1
        assert signs_in(user, device)


def test_the_key_of_another_device_does_not_answer_for_it(user):
    device, other = Device(), Device()
    added(user, device)
    assert other.id == device.id
    assert not signs_in(user, other)


def test_nobodys_passkey_opens_anothers_account(user, cast):
    device = Device()
    added(cast["viewer"], device)
    assert not signs_in(user, device)
    with pytest.raises(LedgerError, match="added already"):
        added(user, device)


def test_one_that_was_removed_opens_nothing(user, cast):
    device = Device()
    passkey = added(user, device)
    remove_passkey(user=cast["viewer"], passkey=passkey)
    assert signs_in(user, device)
    remove_passkey(user=user, passkey=passkey)
    assert not signs_in(user, device)
    assert AccountEvent.objects.get(what="passkey ended").about == "Phone"


NONSENSE = ["", "{}", "[]", "null", "1", "{", '{"id": 1}', "\0", "é" * 10, "[" * 100_000]
NONSENSE += ['{"id": "AA", "rawId": "AA", "response": {}, "type": "public-key"}']


@pytest.mark.parametrize("answer", NONSENSE, ids=lambda text: text[:12])
def test_nonsense_is_refused(answer, user):
    added(user, Device())
    assert not use(user, new_challenge(), answer)
    with pytest.raises(LedgerError):
        add_passkey(
            user=user, site=SITE, challenge=new_challenge(), answer=answer, name="x", now=NOW
        )


def test_whatever_part_is_spoilt_it_is_refused(user):
    """Each byte's half of an answer that was right, changed."""
    device, challenge = Device(), new_challenge()
    added(user, device)
    answer = json.loads(device.sign(challenge))
    for name, part in answer["response"].items():
        whole = websafe_decode(part)
        for at in range(0, len(whole), 7):
            spoilt = whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :]
            sent = answer | {"response": answer["response"] | {name: websafe_encode(spoilt)}}
            Attempt.objects.all().delete()
            assert not use(user, challenge, json.dumps(sent)), (name, at)


def test_failures_are_counted(user):
    device = Device()
    added(user, device)
    for _ in range(CODES.most):
        assert not use(user, new_challenge(), "{}")
    with pytest.raises(TooMany):
        signs_in(user, device)


def test_an_account_has_so_many(user):
    for number in range(MOST):
        added(user, Device(number=number))
    with pytest.raises(LedgerError, match=f"at most {MOST}"):
        added(user, Device(number=MOST))
