"""The second step of signing in: turning it on and off, trying codes, recovery codes."""

import secrets
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from ..choices import AccountEvents
from ..models import RecoveryCode, SecondFactor
from .account_log import NOWHERE, Place, note_event
from .attempt_limits import CODES, CODES_OF, count_attempt, forget_attempt
from .errors import LedgerError
from .one_time_codes import DIGITS, find_step, hash_code, new_recovery_code, tidy_code

HOW_MANY = 10
# Half minutes: further ahead no code is taken, however late or early a clock is.
AHEAD = 20
WRONG_CODE = "That code is wrong or was used already. Wait for the next one, then type it."


def turn_on(*, user: User, key: str, code: str, now: datetime, place: Place = NOWHERE) -> list[str]:
    """Ask for codes of this key from now on, if one of them was typed; returns recovery codes.

    Raises LedgerError for a wrong code, and where a second step is on already.
    """
    step = find_step(key, code, now)
    if step is None:
        raise LedgerError(f"{WRONG_CODE} Check that your phone's clock is right.", "code")
    with transaction.atomic():
        _, is_new = SecondFactor.objects.get_or_create(
            user=user, defaults={"key": key, "last_step": step, "made_at": now}
        )
        if not is_new:
            raise LedgerError("The second step is on already. Turn it off first.", "code")
        codes = _make_codes(user)
    note_event(user=user, what=AccountEvents.FACTOR_ON, place=place)
    return codes


def turn_off(*, user: User, place: Place = NOWHERE) -> bool:
    """Ask for no second step any more. Whether there was one."""
    with transaction.atomic():
        count, _ = SecondFactor.objects.filter(user=user).delete()
        RecoveryCode.objects.filter(user=user).delete()
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
    *, user: User, typed: str, now: datetime, address: str, place: Place = NOWHERE
) -> bool:
    """Whether a code, or a recovery code, is right; it is then used up.

    Wrong ones are counted for the account, and for it and the address. Raises TooMany.
    """
    counted = [
        count_attempt(limit=CODES_OF, who=f"user {user.pk}", at=now),
        count_attempt(limit=CODES, who=f"user {user.pk} {address}", at=now),
    ]
    if _use(user, typed, now, place):
        for made in counted:
            forget_attempt(made)
        return True
    note_event(user=user, what=AccountEvents.WRONG_CODE, place=place, again=False)
    return False


def _use(user: User, typed: str, now: datetime, place: Place) -> bool:
    code = tidy_code(typed)
    if len(code) == DIGITS and code.isdecimal():
        kept = SecondFactor.objects.filter(user=user).first()
        step = find_step(kept.key, code, now) if kept is not None else None
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
