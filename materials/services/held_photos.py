"""Photos of forms that came back: held until the form is saved.

A browser sends a file once: when the form comes back, to be mended or looked over, it has to be
chosen again. So what was chosen is read, as it would be for good, and held under a key that the
page carries; whoever sent it has two days to save the form.
"""

import secrets
from collections.abc import Sequence
from datetime import timedelta

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone

from ..models import HeldPhoto
from .errors import LedgerError
from .photos import MAX_AT_ONCE, Picture, read_picture

KEPT = timedelta(days=2)
# Of one account, over all its forms; the oldest go first.
MOST = 30


def _known(keys: Sequence[str]) -> list[str]:
    """Those that could be keys; PostgreSQL takes no text with a zero byte."""
    return [key for key in keys if key.isascii() and key.isprintable()][:MOST]


def list_held(actor: User, keys: Sequence[str]) -> list[HeldPhoto]:
    """What is held for somebody under some of these keys, without the pictures themselves."""
    held = HeldPhoto.objects.filter(user=actor, key__in=_known(keys))
    return list(held.defer("image", "thumbnail"))


def hold_photos(
    *, actor: User, files: "Sequence[UploadedFile[bytes]]"
) -> tuple[list[HeldPhoto], list[str]]:
    """Hold what was chosen; gives what is held, and a sentence for each that cannot be."""
    held, refused = [], []
    for file in files[:MAX_AT_ONCE]:
        try:
            picture = read_picture(file)
        except LedgerError as error:
            refused.append(str(error))
            continue
        name = "".join(filter(str.isprintable, file.name or ""))[-100:] or "photo"
        held.append(
            HeldPhoto.objects.create(
                user=actor, key=secrets.token_urlsafe(24), name=name, **vars(picture)
            )
        )
    if len(files) > MAX_AT_ONCE:
        refused.append(f"At most {MAX_AT_ONCE} photos at a time: the rest was left out.")
    if held:
        _forget_old(actor)
    return held, refused


def take_held(actor: User, keys: Sequence[str]) -> list[Picture]:
    """Pictures of these keys, no longer held: they are about to be kept for good.

    Raises LedgerError where one is held no more, since it would be lost without a word.
    """
    held = HeldPhoto.objects.filter(user=actor, key__in=_known(keys))
    pictures = [
        Picture(bytes(each.image), bytes(each.thumbnail), each.width, each.height) for each in held
    ]
    if len(pictures) < len(set(keys)):
        raise LedgerError("A photo you chose earlier is no longer kept. Choose it again.", "photo")
    held.delete()
    return pictures


def _forget_old(actor: User) -> None:
    mine = HeldPhoto.objects.filter(user=actor)
    newest = list(mine.order_by("-pk").values_list("pk", flat=True)[:MOST])
    mine.exclude(pk__in=newest).delete()
    HeldPhoto.objects.filter(sent_at__lt=timezone.now() - KEPT).delete()
