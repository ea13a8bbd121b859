"""What waits on a device, saved as files that the import page reads."""

import pytest

from materials.models import LabourEntry, Purchase
from tests.entries import Entries
from tests.imports.steps import bring

pytestmark = pytest.mark.django_db(transaction=True)


def test_what_is_saved_comes_in_through_the_import_as_it_would_have_been_sent(phone):
    phone = phone()
    phone.keep()
    phone.cut("offline")
    phone.open("log")
    phone.page.locator("[name=supplier]").fill("Barn at the ford")
    phone.purchase(photo=False)
    phone.wait_for(1)
    phone.open("labour_add")
    phone.page.locator("[name=kind]").select_option("preparing")
    phone.hours()
    phone.wait_for(2)
    phone.open("labour_add")
    phone.half_hour()
    phone.wait_for(3)
    downloads = []
    phone.page.on("download", lambda each: downloads.append(each))
    with phone.page.expect_download():
        phone.page.get_by_role("button", name="Save as file").locator("visible=true").click()
    while len(downloads) < 2:
        phone.page.wait_for_timeout(50)
    files = {each.suggested_filename: each.path().read_bytes() for each in downloads}
    assert set(files) == {"Purchase.tsv", "Hours.tsv"}
    entries = Entries(phone.build.members.get(role="owner").user, phone.build)
    bring(entries, files["Purchase.tsv"], "Purchase.tsv")
    bring(entries, files["Hours.tsv"], "Hours.tsv")
    phone.mend()
    phone.send()
    sent, brought = Purchase.objects.order_by("-pk")[:2]
    for name in ("bought_on", "supplier", "state"):
        assert getattr(brought, name) == getattr(sent, name), name
    for name in ("component", "quantity_text", "source", "price_amount"):
        assert getattr(brought.lines.get(), name) == getattr(sent.lines.get(), name), name
    asked = ("worked_on", "person__name", "kind", "hours", "note")
    hours = list(LabourEntry.objects.order_by("-pk").values_list(*asked)[:4])
    assert hours[:2] == hours[2:]
