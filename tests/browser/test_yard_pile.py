"""Without signal: photos of a day are kept on the device, and come into the pile once."""

import pytest

from materials.queries.photos import list_pile
from tests.photo_files import jpeg

pytestmark = pytest.mark.django_db(transaction=True)


def test_photos_to_sort_are_kept_and_come_in_once(phone):
    taken = phone()
    taken.keep()
    there = list_pile(taken.build).count()
    taken.cut("offline")
    taken.open("pile")
    pictures = [
        {"name": f"{n}.jpg", "mimeType": "image/jpeg", "buffer": jpeg((70 + n, 40))}
        for n in range(3)
    ]
    taken.pile(*pictures)
    taken.wait_for(1)
    assert [(each["kind"], each["files"]) for each in taken.kept()] == [("Photos to sort", 3)]
    assert list_pile(taken.build).count() == there
    taken.mend()
    taken.send()
    came = list_pile(taken.build)[there:]
    assert [photo.width for photo in came] == [70, 71, 72]
