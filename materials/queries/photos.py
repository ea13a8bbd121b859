"""Reads of photos, and of the records that have them."""

from collections.abc import Iterable

from django.db.models import Model, QuerySet

from ..models import Build, Component, Conversion, Photo, Purchase, RetailPrice
from .records import get_record

# So many of a pile are named at once.
MOST_NAMED = 40
PhotoRecord = Purchase | Conversion | RetailPrice

# Kinds of records that have photos; each is also the name of the photo's field.
_KINDS: dict[type[Model], str] = {
    Purchase: "purchase",
    Conversion: "conversion",
    RetailPrice: "price",
}
_ONE = {"purchase": "A purchase", "conversion": "A conversion", "price": "A new price"}


def get_photo_record(build: Build, kind: str, pk: int) -> PhotoRecord | None:
    """A record of the build that may have photos, or None."""
    record = get_record(build, kind, pk) if kind in _KINDS.values() else None
    return record if isinstance(record, PhotoRecord) else None


def get_photo(build: Build, pk: int) -> Photo:
    """A photo of the build. Raises Photo.DoesNotExist, also for another build's."""
    return Photo.objects.select_related("purchase", "conversion", "price__component").get(
        pk=pk, build=build
    )


def list_pile(build: Build) -> QuerySet[Photo]:
    """Photos that wait to be sorted, in the order they came."""
    unsorted = {kind: None for kind in _KINDS.values()}
    return Photo.objects.filter(build=build, **unsorted).select_related("added_by").order_by("pk")


def count_pile(build: Build) -> int:
    """How many wait."""
    return list_pile(build).count()


def list_of_pile(build: Build, keys: Iterable[int]) -> list[Photo]:
    """Those of some photos that still wait."""
    keys = list(keys)
    if not keys:
        return []
    return list(list_pile(build).filter(pk__in=keys[:MOST_NAMED]))


def list_named(build: Build, keys: Iterable[int]) -> list[Photo]:
    """Some photos of the build, wherever they are."""
    keys = list(keys)
    if not keys:
        return []
    return list(Photo.objects.filter(build=build, pk__in=keys[:MOST_NAMED]))


def list_photos(record: PhotoRecord) -> QuerySet[Photo]:
    """Photos of a record in the order they came."""
    return Photo.objects.filter(**{owner_field(record): record}).order_by("pk")


def receipts_of(build: Build, purchases: Iterable[int], most: int) -> list[tuple[Photo, str]]:
    """Photos of some purchases, the newest purchase first, each with the words that stand for it.

    ``purchases``: their keys; ``most`` photos at most.
    """
    found = Photo.objects.filter(build=build, purchase__in=set(purchases))
    found = found.select_related("purchase").order_by("-purchase__bought_on", "-purchase", "pk")
    return [
        (photo, photo.caption or f"Photo of purchase {photo.purchase.number}")
        for photo in found[:most]
        if photo.purchase is not None
    ]


def photos_going_with(record: Model) -> list[Photo]:
    """Photos that are deleted when a record is."""
    if isinstance(record, PhotoRecord):
        return list(list_photos(record))
    if isinstance(record, Component):
        return list(Photo.objects.filter(price__component=record).order_by("pk"))
    return []


def owner_field(record: PhotoRecord) -> str:
    """Name of the kind of a record: ``purchase``, ``conversion`` or ``price``."""
    return _KINDS[type(record)]


def owner_of(photo: Photo) -> PhotoRecord | None:
    """The record that a photo is of; None while it waits in the pile."""
    return photo.purchase or photo.conversion or photo.price


def one_of(record: PhotoRecord) -> str:
    """The kind of a record as a sentence begins with it."""
    return _ONE[owner_field(record)]


def name_record(record: PhotoRecord) -> str:
    """What a record with photos is called in a sentence."""
    if isinstance(record, RetailPrice):
        day = record.priced_on
        return f"new price of {record.component} on {day.day} {day:%b %Y}"
    return f"{owner_field(record)} {record.number}"


def describe_photos(record: PhotoRecord) -> list[tuple[Photo, str]]:
    """Photos of a record, each with the words that stand for it."""
    return [
        (photo, photo.caption or f"Photo {n} of {name_record(record)}")
        for n, photo in enumerate(list_photos(record), 1)
    ]


def describe_photo(photo: Photo) -> str:
    """The words that stand for one photo."""
    owner = owner_of(photo)
    if owner is None:
        return photo.caption or f"Photo {photo.pk} of the pile"
    return next(words for other, words in describe_photos(owner) if other.pk == photo.pk)
