"""One account with all that is tied to it, as a file for its owner: a zip archive.

| part | what it holds |
|---|---|
| ``account.json`` | ``format``, ``version``, ``profile``, and as lists ``memberships``, |
| | ``sessions``, ``log``, ``timers``, ``imports``, ``invitations``, ``invitations_used``, |
| | ``share_links``, ``photos``, ``entries`` |
| ``photos/…`` | the pictures that the account added, named in ``photos`` |

An entry is a line of history: build, moment, action, kind and key of the record, summary, and its
rows before and after (``null`` for a new or a deleted one). Money and quantities are decimal
texts, exact; moments are ISO 8601 in UTC. Nothing in it opens anything: no password, key or code.
"""

import json
import shutil
import zipfile
from typing import IO

from django.contrib.auth.models import User
from django.core.serializers.json import DjangoJSONEncoder
from django.utils import timezone

from ..models import Photo
from ..queries.own_data import own_entries, own_lists, own_memberships, own_photos, own_profile
from ..services.long_work import Tell

FORMAT, VERSION = "buildledger account", 1


def write_account(user: User, stream: IO[bytes], tell: Tell) -> None:
    """Write the archive; entries go out one by one, however many there are."""
    photos = list(own_photos(user))
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        with archive.open("account.json", "w") as file:
            _write_data(user, photos, file)
        tell(1, len(photos) + 1)
        for count, photo in enumerate(photos, 2):
            _write_photo(archive, photo)
            tell(count, len(photos) + 1)


def _write_data(user: User, photos: list[Photo], file: IO[bytes]) -> None:
    head = {
        "format": FORMAT,
        "version": VERSION,
        "exported_at": timezone.now(),
        "profile": own_profile(user),
        "memberships": own_memberships(user),
        **own_lists(user),
        "photos": [
            {
                "build": photo.build.name,
                "added_at": photo.added_at,
                "caption": photo.caption,
                "file": _name(photo),
            }
            for photo in photos
        ],
    }
    # The entries come last, so that they need not all be held at once.
    file.write(_json(head)[:-1] + b',\n "entries": [')
    mark = b"\n"
    for entry in own_entries(user):
        file.write(mark + _json(entry))
        mark = b",\n"
    file.write(b"\n]}\n")


def _json(value: object) -> bytes:
    return json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False).encode()


def _name(photo: Photo) -> str:
    return f"photos/{photo.pk}.jpg"


def _write_photo(archive: zipfile.ZipFile, photo: Photo) -> None:
    try:
        source = photo.image.storage.open(str(photo.image.name))
    except FileNotFoundError:
        # A picture whose file was lost must not stand in the way of all the rest.
        return
    with source, archive.open(_name(photo), "w", force_zip64=True) as target:
        shutil.copyfileobj(source, target)
