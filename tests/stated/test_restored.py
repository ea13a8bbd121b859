"""Every stated field of every recorded model comes back with a restored backup."""

import io

import pytest
from django.contrib.auth import get_user_model

from materials.exchange.backups import open_file, restore_backup, write_backup
from materials.models import Build, Supplier
from materials.services.builds import create_build
from materials.services.fresh_ledger import drop_kept
from materials.services.restore import Choices

from .test_stated import World, tell


@pytest.mark.django_db(transaction=True)
def test_backed_up_and_restored(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    actor = get_user_model().objects.create_user("owner", password="pw-for-tests")
    world = World(actor, create_build(actor=actor, values={"name": "Hill shed"}))
    world.fill()
    world.build.refresh_from_db()
    stream, before = io.BytesIO(), tell(world.build)
    write_backup(stream)
    Supplier.objects.update(note="")
    restore_backup(open_file(stream, key=None), choices=Choices(replace=True))
    assert tell(Build.objects.get(name=world.build.name)) == before
    assert len(drop_kept()) == 1
