"""A photo is chosen once, whatever becomes of the form, with scripts and without."""

import pytest
from django.urls import reverse

from materials.models import Photo, Purchase
from tests.photo_files import jpeg

from .screens import press

pytestmark = pytest.mark.django_db(transaction=True)
PILE = {"name": "pile.jpg", "mimeType": "image/jpeg", "buffer": jpeg((400, 300))}


@pytest.mark.parametrize("has_scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_photo_stays_through_a_reading_a_look_and_a_refusal(has_scripts, walk, settings):
    steps = walk(java_script_enabled=has_scripts)
    page, build = steps.page, steps.build
    before = Purchase.objects.count()
    page.goto(reverse("log", args=[build.pk]))
    page.set_input_files("[name=photo]", PILE)
    page.locator("#entry [name=what]").fill("Barn siding")
    page.locator("#entry [name=quantity_text]").fill("some")
    page.locator("#entry [name=price]").fill("40")
    page.get_by_label("Salvage").check()
    press(page, "Save")
    kept = page.get_by_label("pile.jpg")
    assert kept.is_checked()
    page.locator("#entry [name=quantity_text]").fill("3 bundles")
    press(page, "Preview")
    assert kept.is_checked()
    press(page, "Save")
    assert Purchase.objects.count() == before + 1
    assert Photo.objects.filter(purchase=Purchase.objects.latest("pk")).count() == 1


SENT = "document.addEventListener('htmx:configRequest', e => sent = [...e.detail.formData.keys()])"


@pytest.mark.parametrize("name", ["log", "conversion_add"])
def test_a_photo_is_not_sent_with_each_word_typed(name, walk):
    steps = walk()
    page = steps.page
    page.goto(reverse(name, args=[steps.build.pk]))
    page.evaluate(SENT)
    page.set_input_files("[name=photo]", PILE)
    page.wait_for_function("typeof sent != 'undefined'")
    assert "photo" not in page.evaluate("sent")
