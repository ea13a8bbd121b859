"""What services refuse, whoever calls them, and who may write at all."""

from decimal import Decimal as D

import pytest
from django.contrib.auth.models import AnonymousUser

from materials import access
from materials.choices import Fate, Role
from materials.models import Change, Component, Conversion, Element, LeftOver, Person, Purchase
from materials.services.accounts import ensure_user
from materials.services.builds import create_build, get_or_add_person
from materials.services.errors import LedgerError
from materials.services.records import delete_record
from materials.services.suppliers import get_or_add_supplier
from tests.entries import line


@pytest.fixture
def stock(entries):
    """Ten boards, and components that can be made of them."""
    parts = {name: entries.component(name) for name in ("Board", "Stud", "Lath", "Peg")}
    entries.purchase("P1", line(parts["Board"], "10 pieces", unit_price=D(1)))
    return parts


REFUSED = {
    "more used than there is": (
        lambda e, s: e.conversion("C1", s["Board"], "11 pieces", (s["Stud"], "1 piece")),
        "more Board than there is: 10 pieces usable came in and 11 pieces",
    ),
    "more left over than there is": (
        lambda e, s: e.left_over(s["Board"], "10.000001 pieces"),
        "more Board than there is",
    ),
    "used and left over together": (
        lambda e, s: (
            e.conversion("C1", s["Board"], "6 pieces", (s["Stud"], "1 piece")),
            e.left_over(s["Board"], "5 pieces"),
        ),
        "10 pieces usable came in and 11 pieces",
    ),
    "made of itself": (
        lambda e, s: e.conversion("C1", s["Board"], "1 piece", (s["Board"], "1 piece")),
        "Board cannot be made from itself",
    ),
    "nothing made": (lambda e, s: e.conversion("C1", s["Board"], "1 piece"), "at least one thing"),
    "no lines": (lambda e, s: e.purchase("P2"), "at least one line"),
    "quantity of another kind": (
        lambda e, s: e.left_over(s["Board"], "3 gal"),
        "say in the component's contents",
    ),
    "quantity of nothing": (lambda e, s: e.left_over(s["Board"], "0 pieces"), "is zero"),
    "price per nothing": (
        lambda e, s: e.price(s["Board"], 1, per_text="0 pieces"),
        "more than zero",
    ),
    "proceeds of scrap": (
        lambda e, s: e.left_over(s["Board"], "1 piece", Fate.SCRAPPED, proceeds_amount=D(1)),
        "Only sold material brings proceeds",
    ),
    "lot with every line priced": (
        lambda e, s: e.purchase(
            "P2", line(s["Board"], "1 piece", unit_price=D(1)), lot_price_amount=D(5)
        ),
        "every line has a price of its own",
    ),
    "lot by weight without weights": (
        lambda e, s: e.purchase(
            "P2", line(s["Board"], "1 piece"), lot_price_amount=D(5), lot_split="weight"
        ),
        "a line has no weight",
    ),
    "charge without a size": (
        lambda e, s: e.purchase("P2", line(s["Board"], "1 piece"), charges=[{"kind": "haulage"}]),
        "has no size",
    ),
    "an amount beyond what can be kept": (
        lambda e, s: e.purchase("P2", line(s["Board"], "9999999 pieces", unit_price=D(999999999))),
        "too large",
    ),
    "a percentage of a percentage without end": (
        lambda e, s: e.purchase(
            "P2",
            line(s["Board"], "1 piece", unit_price=D(999999)),
            charges=[
                {"kind": "other", "percent": D(100), "percent_on": "price and charges"}
                for _ in range(60)
            ],
        ),
        "too large",
    ),
    "a name in other case": (lambda e, s: e.component("BOARD"), "of another component already"),
    "a number in other case": (
        lambda e, s: e.purchase("p1", line(s["Board"], "1 piece")),
        "of another purchase already",
    ),
    "a name in other case, beyond plain letters": (
        lambda e, s: (e.component("Élan"), e.component("éLAN")),
        "of another component already",
    ),
    "a used component": (lambda e, s: delete_record(**e.by, record=s["Board"]), "is still used by"),
    "a purchase whose material was used": (
        lambda e, s: (
            e.left_over(s["Board"], "1 piece"),
            delete_record(**e.by, record=Purchase.objects.get()),
        ),
        "more Board than there is",
    ),
    "a person's name without end": (
        lambda e, s: get_or_add_person(**e.by, name="x" * 81),
        "at most 80",
    ),
    "a supplier's name without end": (
        lambda e, s: get_or_add_supplier(**e.by, name="x" * 121),
        "at most 120",
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_refused_in_a_sentence(what, entries, stock):
    act, words = REFUSED[what]
    with pytest.raises(LedgerError) as refused:
        act(entries, stock)
    text = str(refused.value)
    assert words in text
    assert text.endswith(".")
    assert len(text) < 400


def test_a_circle_of_conversions_is_refused_by_name(entries, stock):
    entries.conversion("C1", stock["Board"], "4 pieces", (stock["Stud"], "4 pieces"))
    entries.conversion("C2", stock["Stud"], "2 pieces", (stock["Lath"], "2 pieces"))
    count = Change.objects.count()
    with pytest.raises(LedgerError, match="go in a circle") as refused:
        entries.conversion("C3", stock["Lath"], "1 piece", (stock["Board"], "1 piece"))
    assert all(name in str(refused.value) for name in ("Board", "Stud", "Lath"))
    assert Conversion.objects.count() == 2
    assert Change.objects.count() == count


def test_making_more_than_was_used_is_refused(entries):
    board = entries.component("Board", contents="1 piece = 2x8x12")
    stud = entries.component("Stud", contents="1 piece = 2x8x6")
    entries.purchase("P1", line(board, "10 pieces"))
    with pytest.raises(LedgerError, match="More Stud is made than Board used"):
        entries.conversion("C1", board, "1 piece", (stud, "3 pieces"))
    assert entries.conversion("C1", board, "1 piece", (stud, "2 pieces")).pk


def test_nothing_of_a_refused_action_is_kept(entries, stock):
    for what, (act, _) in REFUSED.items():
        if "together" in what or "was used" in what or "beyond plain" in what:
            continue
        with pytest.raises(LedgerError):
            act(entries, stock)
    assert Component.objects.count() == 4
    assert Purchase.objects.count() == 1
    assert not LeftOver.objects.exists()
    assert not Conversion.objects.exists()


def test_names_are_found_whatever_their_case_and_spaces(entries):
    for name in ("Ann  Lee", " ann lee ", "ANN LEE", "Ánn", "áNN"):
        get_or_add_person(**entries.by, name=name)
        get_or_add_supplier(**entries.by, name=name)
    assert Person.objects.count() == 2
    assert entries.build.suppliers.count() == 2
    assert get_or_add_person(**entries.by, name="  ") is None


def test_roles(cast, build, other_build):
    may = {name: access.role_on(user, build) for name, user in cast.items()}
    assert may == {
        "owner": Role.OWNER,
        "co_builder": Role.CO_BUILDER,
        "viewer": Role.VIEWER,
        "stranger": None,
        "removed": None,
    }
    edits = {name for name, user in cast.items() if access.may_edit(user, build)}
    assert edits == {"owner", "co_builder"}
    access.require_owner(cast["owner"], build)
    for name in ("co_builder", "viewer", "stranger"):
        with pytest.raises(access.NotAllowed):
            access.require_owner(cast[name], build)
    for name in ("viewer", "stranger"):
        with pytest.raises(access.NotAllowed):
            access.require_editor(cast[name], build)
    with pytest.raises(access.NotFound):
        access.get_build(cast["stranger"], build.pk)
    assert list(access.list_builds(cast["stranger"])) == [other_build]
    assert not access.list_builds(AnonymousUser()).exists()


def test_an_inactive_user_sees_nothing_and_a_superuser_everything(cast, build, other_build):
    cast["owner"].is_active = False
    assert not access.list_builds(cast["owner"]).exists()
    cast["stranger"].is_superuser = True
    assert set(access.list_builds(cast["stranger"])) == {build, other_build}
    assert access.role_on(cast["stranger"], build) == Role.OWNER


def test_a_new_build_belongs_to_who_began_it(cast):
    made = create_build(actor=cast["viewer"], values={"name": "Own"})
    assert access.role_on(cast["viewer"], made) == Role.OWNER
    assert Element.objects.filter(build=made, code="B10").count() == 1


def test_an_account_is_made_once(db):
    user, is_new = ensure_user(username="demo", password="first-one")
    again, is_second = ensure_user(username="demo", password="another")
    assert (is_new, is_second, again) == (True, False, user)
    assert again.check_password("first-one")
