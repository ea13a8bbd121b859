"""The second step of signing in: turning it on and off, trying codes, recovery codes.

Guesses at the six digits. Whoever knows the password and types codes is counted for the account,
wherever from: else many addresses would try as many codes as they like. But browsers that were in
with the account before are counted apart from all others, so that a stranger's guesses do not keep
its owner out; and recovery codes and passkeys, which cannot be guessed, are never kept waiting for
them. After six wrong codes each next one waits, at first a minute, then twice as long, at last a
day: at most 6 + 11 + 29 = 46 in thirty days. Three of a million are right at a time, so a month of
guessing succeeds once in about 7,000 times, a year's 400 codes once in about 830; the first
wrong code sends a mail, and a new password ends it.
"""

import secrets
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from ..choices import AccountEvents
from ..models import Passkey, RecoveryCode, SecondFactor
from .account_log import NOWHERE, Place, note_event
from .attempt_limits import (
    CODES,
    WRONG_CODES,
    TooMany,
    count_attempt,
    count_growing,
    forget_attempt,
    forget_attempts,
)
from .errors import LedgerError
from .one_time_codes import DIGITS, find_step, hash_code, new_recovery_code, tidy_code
from .sealed import Unreadable, seal, unseal

HOW_MANY = 10
# Half minutes: further ahead no code is taken, however late or early a clock is.
AHEAD = 20
WRONG_CODE = "That code is wrong or was used already. Wait for the next one, then type it."
# What keys are sealed for.
_PURPOSE = "second factor"


class CodesRest(TooMany):
    """No six digits are taken for a while; recovery codes and passkeys are."""


def turn_on(*, user: User, key: str, code: str, now: datetime, place: Place = NOWHERE) -> list[str]:
    """Ask for codes of this key from now on, if one of them was typed; returns recovery codes.

    Raises LedgerError for a wrong code, and where a second step is on already.
    """
    step = find_step(key, code, now)
    if step is None:
        raise LedgerError(f"{WRONG_CODE} Check that your phone's clock is right.", "code")
    sealed = seal(key, purpose=_PURPOSE, owner=user.pk)
    with transaction.atomic():
        _, is_new = SecondFactor.objects.get_or_create(
            user=user, defaults={"key": sealed, "last_step": step, "made_at": now}
        )
        if not is_new:
            raise LedgerError("The second step is on already. Turn it off first.", "code")
        codes = _make_codes(user)
    note_event(user=user, what=AccountEvents.FACTOR_ON, place=place)
    return codes


def turn_off(*, user: User, place: Place = NOWHERE) -> bool:
    """Ask for no second step any more; passkeys go with it. Whether there was one."""
    with transaction.atomic():
        count, _ = SecondFactor.objects.filter(user=user).delete()
        RecoveryCode.objects.filter(user=user).delete()
        Passkey.objects.filter(user=user).delete()
    if count:
        note_event(user=user, what=AccountEvents.FACTOR_OFF, place=place)
    return bool(count)


def make_recovery_codes(*, user: User, place: Place = NOWHERE) -> list[str]:
    """New recovery codes in place of all earlier ones; only their hashes are kept."""
    with transaction.atomic():
        codes = _make_codes(user)
    note_event(user=user, what=AccountEvents.CODES, place=place)
    return codes


def _make_codes(user: User) -> list[str]:
    RecoveryCode.objects.filter(user=user).delete()
    # One salt for the set: what is typed is then hashed once, not once for each.
    salt, codes = secrets.token_hex(16), [new_recovery_code() for _ in range(HOW_MANY)]
    RecoveryCode.objects.bulk_create(
        RecoveryCode(user=user, salt=salt, digest=hash_code(code, salt)) for code in codes
    )
    return codes


def try_code(
    *,
    user: User,
    typed: str,
    now: datetime,
    address: str,
    is_known: bool = False,
    place: Place = NOWHERE,
) -> bool:
    """Whether a code, or a recovery code, is right; it is then used up.

    ``is_known``: typed in a browser that was in with the account before. Raises CodesRest where
    only the six digits wait, else TooMany.
    """
    code = tidy_code(typed)
    one = count_attempt(limit=CODES, who=f"user {user.pk} {address} {is_known}", at=now)
    counted = [one]
    if _is_digits(code):
        try:
            counted.append(count_growing(limit=WRONG_CODES, who=_guesser(user, is_known), at=now))
        except TooMany as error:
            forget_attempt(one)
            raise CodesRest(error.until) from None
    if _use(user, code, now, place):
        for made in counted:
            forget_attempt(made)
        if is_known:
            forget_attempts(limit=WRONG_CODES, who=_guesser(user, is_known))
        return True
    note_event(user=user, what=AccountEvents.WRONG_CODE, place=place, again=False)
    return False


def forget_guesses(user: User) -> None:
    """Count wrong codes anew: whoever guessed does not know the new password."""
    for is_known in (True, False):
        forget_attempts(limit=WRONG_CODES, who=_guesser(user, is_known))


def _guesser(user: User, is_known: bool) -> str:
    return f"user {user.pk} {is_known}"


def _is_digits(code: str) -> bool:
    return len(code) == DIGITS and code.isdecimal()


def _key_of(user: User) -> str | None:
    """The key of an account's codes; None where there is none that this server can read."""
    kept = SecondFactor.objects.filter(user=user).first()
    try:
        return unseal(kept.key, purpose=_PURPOSE, owner=user.pk) if kept is not None else None
    except Unreadable:
        return None


def _use(user: User, code: str, now: datetime, place: Place) -> bool:
    if _is_digits(code):
        key = _key_of(user)
        step = find_step(key, code, now) if key else None
        if step is None:
            return False
        # Of two at once with the same code one finds the step used (RFC 6238, 5.2). One that
        # lies ahead is from before the clock was set back, and must keep nobody out.
        unused_step = Q(last_step__lt=step) | Q(last_step__gt=step + AHEAD)
        rows = SecondFactor.objects.filter(unused_step, user=user)
        return bool(rows.update(last_step=step))
    unused = RecoveryCode.objects.filter(user=user, used_at=None)
    first = unused.first()
    if first is None or not code:
        return False
    if not unused.filter(digest=hash_code(code, first.salt)).update(used_at=now):
        return False
    left = unused.count()
    note_event(user=user, what=AccountEvents.CODE_USED, place=place, about=f"{left} left")
    return True
