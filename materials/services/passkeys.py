"""Passkeys as a second step (W3C Web Authentication, Level 3), checked by the package fido2.

A passkey stands beside the codes, never in their place: without scripts a code is typed. It is
asked for after the password, so being there is enough for it (“user present”), and a device that
knows its owner may ask for more. No attestation is asked for: who made the device is nobody's
business here. A challenge is 256 random bits, kept with the session, and used up by one answer.
"""

import json
import secrets
from datetime import datetime
from typing import Any, NamedTuple

from django.conf import settings
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils.crypto import salted_hmac
from fido2.server import Fido2Server
from fido2.utils import websafe_decode, websafe_encode
from fido2.webauthn import (
    AttestedCredentialData,
    AuthenticationResponse,
    PublicKeyCredentialRpEntity,
    PublicKeyCredentialUserEntity,
    RegistrationResponse,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from ..choices import AccountEvents
from ..models import Passkey
from .account_log import NOWHERE, Place, note_event
from .attempt_limits import CODES, count_attempt, forget_attempt
from .errors import LedgerError

CHALLENGE_BYTES = 32
MOST = 20
NOT_ADDED = "This passkey could not be added. Start again."


class Site(NamedTuple):
    """What a passkey is bound to: ``host`` without a port, ``origin`` as the browser says it."""

    host: str
    origin: str


def new_challenge() -> str:
    """A challenge in base64url, to be kept with the session until it is answered."""
    return websafe_encode(secrets.token_bytes(CHALLENGE_BYTES))


def options_to_add(*, user: User, site: Site, challenge: str) -> dict[str, Any]:
    """What a browser needs to make a passkey, as JSON; one device makes but one for an account."""
    name = user.get_username()
    made, _ = _server(site).register_begin(
        PublicKeyCredentialUserEntity(id=_handle(user), name=name, display_name=name),
        credentials=_credentials(user),
        challenge=websafe_decode(challenge),
        resident_key_requirement=ResidentKeyRequirement.DISCOURAGED,
        user_verification=UserVerificationRequirement.PREFERRED,
    )
    return _plain(made.public_key)


def options_to_use(*, user: User, site: Site, challenge: str) -> dict[str, Any] | None:
    """What a browser needs to answer with a passkey; None where the account has none."""
    credentials = _credentials(user)
    if not credentials:
        return None
    asked, _ = _server(site).authenticate_begin(
        credentials,
        challenge=websafe_decode(challenge),
        user_verification=UserVerificationRequirement.PREFERRED,
    )
    return _plain(asked.public_key)


def add_passkey(
    *,
    user: User,
    site: Site,
    challenge: str,
    answer: str,
    name: str,
    now: datetime,
    place: Place = NOWHERE,
) -> Passkey:
    """Keep the passkey that a browser made. Raises LedgerError for what cannot be one."""
    if Passkey.objects.filter(user=user).count() >= MOST:
        raise LedgerError(f"An account has at most {MOST} passkeys. Remove one first.")
    made = _checked_new(site, challenge, answer)
    if made is None:
        raise LedgerError(NOT_ADDED)
    credential, count = made
    try:
        with transaction.atomic():
            passkey = Passkey.objects.create(
                user=user,
                name=name,
                credential_id=websafe_encode(credential.credential_id),
                credential=websafe_encode(bytes(credential)),
                sign_count=count,
                made_at=now,
            )
    except IntegrityError:
        raise LedgerError("This passkey was added already.") from None
    note_event(user=user, what=AccountEvents.PASSKEY_ADDED, place=place, about=name)
    return passkey


def use_passkey(
    *,
    user: User,
    site: Site,
    challenge: str,
    answer: str,
    now: datetime,
    address: str,
    place: Place = NOWHERE,
) -> bool:
    """Whether a browser answered the challenge with one of the account's passkeys.

    Failures are counted with codes, for account and address. Raises TooMany.
    """
    counted = count_attempt(limit=CODES, who=f"user {user.pk} {address} passkey", at=now)
    found = _checked_use(user, site, challenge, answer)
    if found is None:
        note_event(user=user, what=AccountEvents.WRONG_CODE, place=place, again=False)
        return False
    passkey, count = found
    # 7.2, step 22: a count that does not go up tells of a copy. 0 and 0: the device counts nothing.
    goes_up = Q(sign_count__lt=count) | (Q(sign_count=0) if count == 0 else Q(pk=None))
    rows = Passkey.objects.filter(goes_up, pk=passkey.pk)
    if not rows.update(sign_count=count, used_at=now):
        note_event(user=user, what=AccountEvents.PASSKEY_COPIED, place=place, about=passkey.name)
        return False
    forget_attempt(counted)
    return True


def remove_passkey(*, user: User, passkey: Passkey, place: Place = NOWHERE) -> None:
    """Take a passkey of the user's off; nothing happens when it is gone already."""
    count, _ = Passkey.objects.filter(user=user, pk=passkey.pk).delete()
    if count:
        note_event(user=user, what=AccountEvents.PASSKEY_ENDED, place=place, about=passkey.name)


def _server(site: Site) -> Fido2Server:
    return Fido2Server(
        PublicKeyCredentialRpEntity(id=site.host, name="buildledger"),
        # Exactly where the page came from: neither another port nor a name below this one.
        verify_origin=lambda origin: origin == site.origin,
    )


def _credentials(user: User) -> list[AttestedCredentialData]:
    rows = Passkey.objects.filter(user=user)
    return [AttestedCredentialData(websafe_decode(row.credential)) for row in rows]


def _handle(user: User, secret: str | None = None) -> bytes:
    """What a device knows the account by: it tells nothing (14.6.1), and stays with the key."""
    return salted_hmac("materials.passkey", str(user.pk), secret, algorithm="sha256").digest()


def _handles(user: User) -> list[bytes]:
    """What devices know the account by since keys of before."""
    keys = (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)
    return [_handle(user, key) for key in keys]


def _state(challenge: str) -> dict[str, Any]:
    return {"challenge": challenge, "user_verification": UserVerificationRequirement.PREFERRED}


def _plain(options: Any) -> dict[str, Any]:
    plain: dict[str, Any] = json.loads(json.dumps(dict(options), default=dict))
    return plain


def _checked_new(
    site: Site, challenge: str, answer: str
) -> tuple[AttestedCredentialData, int] | None:
    """The credential of an answer, and how often it signed; None for what cannot be one."""
    server = _server(site)
    # Whatever is wrong with it, from JSON and CBOR to curves: all of it is a stranger's to choose.
    try:
        response = RegistrationResponse.from_dict(json.loads(answer))
        data = server.register_complete(_state(challenge), response)
        credential = data.credential_data
        allowed = [each.alg for each in server.allowed_algorithms]
        if credential is None or credential.public_key.get(3) not in allowed:
            return None
        is_same = credential.credential_id == response.raw_id
    except Exception:
        return None
    if response.response.client_data.cross_origin or not is_same:
        return None
    # 7.1, step 25: no longer than 1023 bytes.
    return (credential, data.counter) if 0 < len(credential.credential_id) <= 1023 else None


def _checked_use(user: User, site: Site, challenge: str, answer: str) -> tuple[Passkey, int] | None:
    """The passkey that answered, and its count; None where none did, or not to this challenge."""
    try:
        response = AuthenticationResponse.from_dict(json.loads(answer))
        used = _server(site).authenticate_complete(_state(challenge), _credentials(user), response)
        handle = response.response.user_handle
        count = response.response.authenticator_data.counter
    except Exception:
        return None
    # 7.2, step 6: a device that says whose it is must say the right one.
    if response.response.client_data.cross_origin or (handle and handle not in _handles(user)):
        return None
    name = websafe_encode(used.credential_id)
    passkey = Passkey.objects.filter(user=user, credential_id=name).first()
    return (passkey, count) if passkey is not None else None
