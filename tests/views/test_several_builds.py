"""Pages of several builds: moving, comparing, beginning from an earlier one, putting away."""

import re
from decimal import Decimal as D

import pytest
from django.urls import reverse

from materials.choices import Fate, Role
from materials.models import Build, Change, Member, Move
from materials.services.builds import create_build
from tests.entries import line
from tests.views.screens import Page, Screens

pytestmark = pytest.mark.django_db
ANOTHER = "another build"


@pytest.fixture
def board(entries):
    board = entries.component("Joist", contents="1 piece = 16 ft")
    entries.purchase("J1", line(board, "20 pieces", unit_price=D(3)))
    entries.left_over(board, "8 pieces", Fate.ON_HAND)
    return board


def text_of(answer) -> str:
    return Page(answer.content.decode()).text


def move_url(build, to_build) -> str:
    return reverse("move_add", args=[build.pk]) + f"?to={to_build.pk}"


def send(client, url: str, **typed):
    """Fill in the form of a page and send it."""
    site = Screens(client)
    return client.post(url, site.filled(site.read(url).form, typed))


TYPED = {"component": "Joist: 8 pieces on hand, 12 pieces built in", "quantity_text": "5 pieces"}


class TestMoving:
    def test_the_other_build_is_chosen_first(self, owner, screens, second, cast, other_build):
        foreign = create_build(actor=cast["owner"], values={"name": "Alm", "currency": "EUR"})
        page = screens.open("move_add")
        addresses = [url for url, _ in page.links]
        assert any(url.endswith(f"/moves/add/?to={second.pk}") for url in addresses)
        assert not any(url.endswith(f"?to={foreign.pk}") for url in addresses)
        assert "Alm (EUR)" in page.text
        assert other_build.name not in page.text

    def test_looking_saves_nothing_and_says_what_saving_does(self, owner, build, second, board):
        """2 of the boards at 3.00, which the other build does not have yet."""
        url, site = move_url(build, second), Screens(owner)
        data = site.filled(site.read(url).form, TYPED | {"quantity_text": "2 pieces"})
        looked = owner.post(url, data | {"look": "1"})
        assert looked.status_code == 200
        page = Page(looked.content.decode())
        assert page.ledger["Value, in both builds"].startswith("$6.00")
        assert page.ledger["Arrives as Joist"].startswith("2")
        assert "It will be added" in page.text
        assert not Move.objects.exists()
        assert not second.components.exists()
        assert owner.post(url, data).status_code == 302
        assert (Move.objects.get().value_amount, Move.objects.get().to_qty) == (6, 2)

    @pytest.mark.parametrize(
        ("typed", "words"),
        [
            ({"quantity_text": "35"}, "has no unit"),
            ({"quantity_text": "9 pieces"}, "Only 8 pieces of Joist are on hand"),
            ({"quantity_text": "13 pieces", "taken_from": "built in"}, "more Joist than there is"),
            ({"quantity_text": "2 gal"}, "say in the component's contents"),
            ({"moved_on": "yesterday"}, "date"),
            ({"quantity_text": ""}, "Enter how much, with its unit"),
        ],
    )
    def test_bad_input_is_a_sentence_and_nothing_is_lost(
        self, typed, words, owner, build, second, board
    ):
        answer = send(owner, move_url(build, second), **TYPED | typed | {"note": "for the porch"})
        assert answer.status_code == 422
        page = Page(answer.content.decode())
        assert words in " ".join(page.faults)
        assert page.form.fields["note"] == "for the porch"
        for name, value in typed.items():
            assert page.form.fields[name] == value
        assert not Move.objects.exists()

    @pytest.mark.parametrize("wanted", ["0", "abc", "9" * 30, "-1", "%00"])
    def test_a_build_that_is_none_is_not_found(self, wanted, owner, build):
        assert owner.get(reverse("move_add", args=[build.pk]) + f"?to={wanted}").status_code == 404

    def test_only_those_who_may_edit_both(self, clients, cast, build, second, board, other_build):
        """The co-builder may; a viewer over there may not, a stranger over there finds nothing."""
        hand = clients["co_builder"]
        assert hand.get(move_url(build, second)).status_code == 200
        Member.objects.filter(build=second, user=cast["co_builder"]).update(role=Role.VIEWER)
        assert hand.get(move_url(build, second)).status_code == 403
        assert hand.post(move_url(build, second), {}).status_code == 403
        Member.objects.filter(build=second, user=cast["co_builder"]).delete()
        assert hand.get(move_url(build, second)).status_code == 404
        assert hand.get(move_url(build, other_build)).status_code == 404
        assert clients["viewer"].get(move_url(build, second)).status_code == 403
        assert not Move.objects.exists()

    def test_a_foreign_currency_is_refused_with_what_to_do(self, owner, cast, build, board):
        foreign = create_build(actor=cast["owner"], values={"name": "Alm", "currency": "EUR"})
        assert "sold here and bought there" in text_of(owner.get(move_url(build, foreign)))
        answer = send(owner, move_url(build, foreign), **TYPED)
        assert answer.status_code == 422
        assert "kept in USD and Alm in EUR" in text_of(answer)

    def test_the_other_build_is_named_to_those_who_may_see_it(
        self, clients, cast, build, second, board, entries
    ):
        """The viewer of the one build knows nothing of the other, on any page."""
        transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
        Member.objects.create(build=second, user=cast["stranger"], role=Role.VIEWER)
        for part, own, other in (
            ("viewer", build, second),
            ("stranger", second, build),
        ):
            client, pages = clients[part], []
            for name, args in (("moves", ()), ("move", (transfer.pk,)), ("history", ())):
                pages.append(client.get(reverse(name, args=[own.pk, *args])))
            change = Change.objects.filter(build=own, record_type="move").first()
            pages.append(client.get(reverse("change", args=[own.pk, change.pk])))
            part_here = board if own == build else transfer.to_component
            pages.append(client.get(reverse("component", args=[own.pk, part_here.pk])))
            pages.append(client.get(reverse("cost_sheet", args=[own.pk])))
            for answer in pages:
                assert answer.status_code == 200
                assert other.name not in answer.content.decode()
            assert ANOTHER in text_of(pages[0])
            assert ANOTHER in text_of(pages[1])
            assert reverse("move", args=[other.pk, transfer.pk]) not in pages[1].content.decode()
            assert client.get(reverse("move", args=[other.pk, transfer.pk])).status_code == 404
        assert second.name in text_of(clients["owner"].get(reverse("moves", args=[build.pk])))

    def test_deleting_asks_and_needs_both(self, clients, cast, build, second, board, entries):
        transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
        Member.objects.filter(build=second, user=cast["co_builder"]).delete()
        url = reverse("record_delete", args=[build.pk, "move", transfer.pk])
        answer = clients["co_builder"].post(url, {})
        assert answer.status_code == 403
        assert second.name not in answer.content.decode()
        assert Move.objects.exists()
        page = clients["co_builder"].get(reverse("move", args=[build.pk, transfer.pk]))
        assert url not in page.content.decode()
        assert clients["owner"].post(url, {}).status_code == 302
        assert not Move.objects.exists()

    def test_the_value_is_worked_out_again_when_asked(self, owner, build, second, board, entries):
        transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
        entries.purchase("J2", line(board, "20 pieces", unit_price=D(1)))
        page = text_of(owner.get(reverse("move", args=[build.pk, transfer.pk])))
        assert "At today's average it is worth $10.00" in page
        url = reverse("move_edit", args=[build.pk, transfer.pk])
        assert send(owner, url, value_again=True).status_code == 302
        assert Move.objects.get().value_amount == 10

    def test_figures_lead_to_the_moves_they_sum(self, owner, build, second, board, entries):
        entries.transfer(board, "5 pieces", second, on_hand=True)
        for own, way, value in ((build, "out", "15.00"), (second, "in", "15.00")):
            page = Screens(owner, own.pk).open("figure", "material_cost")
            url = reverse("moves", args=[own.pk]) + f"?way={way}"
            (led,) = [address for address, _ in page.links if address.startswith(f"{url}&from=")]
            assert led.endswith("material_cost"), "the list knows the way back"
            assert value in text_of(owner.get(led))
        assert "Moved in from other builds" in text_of(
            owner.get(reverse("cost_sheet", args=[second.pk]))
        )


class TestComparing:
    def address(self, *builds, **more) -> str:
        query = "&".join([f"build={b.pk}" for b in builds] + [f"{k}={v}" for k, v in more.items()])
        return reverse("compare") + "?" + query

    def test_figures_stand_beside_each_other(self, owner, build, second, board, entries):
        """36.00 over 200 sq ft; 15.00 over 10 sq m, which are 107.639… sq ft: 0.14 a sq ft."""
        entries.transfer(board, "5 pieces", second, on_hand=True)
        entries.labour("Ann", 20)
        page = text_of(owner.get(self.address(build, second)))
        assert "10 sq m = 107.639 sq ft" in page
        row = re.search(r"Floor area, per sq ft (\S+) (\S+) (\S+) less than Hill shed", page)
        assert row is not None
        assert row.groups() == ("$0.18", "$0.14", "$0.04")
        assert "All hours 0.1 h 0 h 0.1 h less than Hill shed" in page

    def test_unlike_currencies_are_not_compared(self, owner, cast, build, board):
        foreign = create_build(
            actor=cast["owner"],
            values={"name": "Alm", "currency": "EUR"},
            areas=[("Floor area", D(100), "sq ft")],
        )
        page = text_of(owner.get(self.address(build, foreign)))
        assert "not compared" in page
        assert "Floor area, per sq ft €0.00 $0.18 Floor area" in page

    @pytest.mark.parametrize(
        ("query", "words"),
        [
            ("?build=", "Tick at least two builds"),
            ("?per=floor", "Tick at least two builds"),
            ("?build={own}", "it takes two to compare"),
            ("?build={own}&build=999999", "nobody shared it with you"),
            ("?build={own}&build={foreign}", "nobody shared it with you"),
            ("?build={own}&build=x", "nobody shared it with you"),
            ("?build={own}&build=" + "9" * 30, "nobody shared it with you"),
            ("?build={own}&build={second}&per=nonsense", "such an area"),
        ],
    )
    def test_odd_choices_are_a_sentence(self, query, words, owner, build, second, other_build):
        named = {"own": build.pk, "second": second.pk, "foreign": other_build.pk}
        answer = owner.get(reverse("compare") + query.format(**named))
        assert answer.status_code == 200
        page = Page(answer.content.decode())
        assert words in page.text or words in " ".join(page.faults)
        assert "Cost per area" not in page.text
        assert other_build.name not in page.text

    def test_too_many_are_a_sentence(self, owner, cast):
        made = [create_build(actor=cast["owner"], values={"name": f"B{n}"}) for n in range(9)]
        assert "Tick 8 builds at most" in text_of(owner.get(self.address(*made)))

    def test_one_build_alone_is_told(self, clients, other_build):
        page = text_of(clients["stranger"].get(reverse("compare")))
        assert "It takes two builds to compare" in page


class TestBeginningLikeAnEarlierOne:
    def test_rates_stand_there_and_the_rest_is_carried(self, owner, build, records):
        page = Screens(owner).read(reverse("build_add"))
        url = reverse("build_add") + f"?like={build.pk}"
        assert url in [address for address, _ in page.links]
        form = Screens(owner).read(url).form
        assert form.fields["own_labour_rate"] == "20"
        assert form.fields["distance_rate"] == "0.7"
        assert form.fields["retail_tax_percent"] == "8"
        assert (
            form.fields["name"] == form.fields["floor_area"] == form.fields["budget_amount"] == ""
        )
        assert "persons" in form.boxes
        assert "persons" not in form.fields
        assert send(owner, url, name="Next").status_code == 302
        made = Build.objects.get(name="Next")
        assert made.own_labour_rate == 20
        assert made.components.count() == build.components.count() > 1
        assert not made.purchases.exists()

    def test_faults_keep_ticks_and_texts(self, owner, build, records):
        url = reverse("build_add") + f"?like={build.pk}"
        answer = send(owner, url, name="Next", currency="EUR", persons=True, suppliers=False)
        assert answer.status_code == 422
        page = Page(answer.content.decode())
        assert "are in USD" in " ".join(page.faults)
        assert page.form.fields["persons"] == "on"
        assert "suppliers" not in page.form.fields
        assert not Build.objects.filter(name="Next").exists()

    @pytest.mark.parametrize("like", ["0", "x", "9" * 30, "-1"])
    def test_no_such_build(self, like, owner):
        assert owner.get(reverse("build_add") + f"?like={like}").status_code == 404

    def test_only_what_one_may_read(self, clients, build):
        url = reverse("build_add") + f"?like={build.pk}"
        assert clients["viewer"].get(url).status_code == 200
        assert clients["stranger"].get(url).status_code == 404
        assert clients["stranger"].post(url, {"name": "Mine"}).status_code == 404
        assert not Build.objects.filter(name="Mine").exists()


class TestPuttingAway:
    def test_out_of_the_list_and_back(self, clients, build, records):
        owner, url = clients["owner"], reverse("build_archive", args=[build.pk])
        home = reverse("builds")
        assert url in [address for address, _ in Page(owner.get(home).content.decode()).links]
        assert owner.post(url).status_code == 302
        assert "All your builds are archived" in text_of(owner.get(home))
        assert build.name in text_of(owner.get(home + "?away=1"))
        assert owner.get(reverse("cost_sheet", args=[build.pk])).status_code == 200
        assert build.name not in text_of(clients["viewer"].get(home))
        assert owner.post(url).status_code == 302
        assert build.name in text_of(owner.get(home))
        assert "No build is archived" in text_of(owner.get(home + "?away=1"))

    @pytest.mark.parametrize("part", ["co_builder", "viewer"])
    def test_only_by_the_owner(self, part, clients, build):
        url = reverse("build_archive", args=[build.pk])
        assert clients[part].post(url).status_code == 403
        page = clients[part].get(reverse("builds")).content.decode()
        assert url not in page
        assert Build.objects.get(pk=build.pk).put_away_on is None


def test_a_reader_of_one_side_sees_no_way_to_change(clients, cast, build, second, board, entries):
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    Member.objects.filter(build=second, user=cast["co_builder"]).update(role=Role.VIEWER)
    page = clients["co_builder"].get(reverse("move", args=[build.pk, transfer.pk]))
    assert second.name in text_of(page)
    assert "You cannot change" in text_of(page)
    edit = reverse("move_edit", args=[build.pk, transfer.pk])
    assert edit not in page.content.decode()
    assert clients["co_builder"].get(edit).status_code == 403
