"""What lasts: beginning, looking, keeping, reading, and what is said."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from materials.lifecycle.queries.comparisons import start_values
from materials.models import Change, LifeChoice
from tests.entries import DAY, line, way
from tests.views.screens import Page, Screens

TYPED = {
    "name": "North wall",
    "study_years": "30",
    "rate_percent": "3",
    "alternatives-0-name": "Painted",
    "alternatives-0-first_amount": "900",
    "alternatives-0-first_hours": "10",
    "alternatives-0-life_years": "12",
    "alternatives-0-upkeep_every": "5",
    "alternatives-0-upkeep_amount": "60",
    "alternatives-0-upkeep_hours": "8",
    "alternatives-1-name": "Steel",
    "alternatives-1-first_amount": "1900",
    "alternatives-1-first_hours": "12",
    "alternatives-1-life_years": "40",
}


@pytest.fixture
def screens(clients, build) -> Screens:
    """The owner at the build's pages."""
    return Screens(clients["owner"], build.pk)


def saved(screens, **typed) -> Page:
    """The page of a comparison that was typed and saved."""
    answer = screens.save("life_choice_add", TYPED | typed)
    return screens.read(answer.url)


def look(screens, **typed) -> Page:
    """The form with what it comes to, not saved."""
    url = screens.url("life_choice_add")
    data = screens.filled(screens.read(url).form, TYPED | typed) | {"look": "1"}
    answer = screens.send(url, data)
    assert answer.status_code == 200
    return Page(answer.content.decode())


def cells(page: Page, row: str) -> list[str]:
    """Texts of a row of the table of costs."""
    table = page.html.split('class="ruled stacks lifecycle-costs"')[1].split("</table>")[0]
    found = next(part for part in table.split("<tr") if row in part)
    return [Page(cell.split(">", 1)[1].split("</td>")[0]).text for cell in found.split("<td")[1:]]


def test_a_comparison_is_kept_and_says_what_it_comes_to(screens):
    """Worked out by hand at 3 % above inflation over 30 years (20 for an own hour).

    Painted: 900 (1 + 1.03^-12 + 1.03^-24) - 450 x 1.03^-30 + 60 in years 5, 10, 17, 22, 29.
    Steel: 1900 - 1900/4 x 1.03^-30.
    """
    spv = [1 / D("1.03") ** n for n in range(31)]
    painted = 900 * (1 + spv[12] + spv[24]) - 450 * spv[30]
    painted += 60 * sum(spv[n] for n in (5, 10, 17, 22, 29))
    steel = 1900 - 475 * spv[30]
    recovery = D("0.03") * D("1.03") ** 30 / (D("1.03") ** 30 - 1)
    page = saved(screens)
    assert "Over 30 years Steel costs least" in page.text

    def money(value: D) -> str:
        return f"${value:,.2f}"

    hours = 10 * (1 + spv[12] + spv[24] - spv[30] / 2)
    hours += 8 * sum(spv[n] for n in (5, 10, 17, 22, 29))
    together = painted + 20 * hours
    assert cells(page, "Painted") == [
        "$900.00",
        money(painted),
        money(painted * recovery),
        "70 h",
        money(together),
        money(together * recovery),
    ]
    assert cells(page, "Steel")[:4] == ["$1,900.00", money(steel), money(steel * recovery), "12 h"]
    assert f"Painted costs {money(painted - steel)} more" in page.text


def test_looking_saves_nothing_and_says_the_same(screens):
    count = Change.objects.count()
    page = look(screens)
    assert "Over 30 years Steel costs least" in page.text
    assert "Break-even" in page.text
    assert (Change.objects.count(), LifeChoice.objects.count()) == (count, 0)
    assert cells(page, "Painted") == cells(saved(screens), "Painted")


def test_looking_while_one_types_says_only_what_is_worth_saying(screens, clients):
    url = screens.url("life_choice_add")
    data = screens.filled(screens.read(url).form, TYPED)
    answers = [
        clients["owner"].post(url, data | typed, headers={"hx-request": "true"}).content.decode()
        for typed in (
            {},
            {"name": ""},
            {"alternatives-0-life_years": "12.5"},
            {"alternatives-0-upkeep_every": ""},
            {"rate_kind": "nominal"},
        )
    ]
    assert "Steel costs least" in answers[0]
    assert 'hx-swap-oob="innerHTML:#verdict"' in answers[0]
    assert "This is empty" not in answers[1]
    assert "counted whole" in answers[2]
    assert "years between upkeep" in answers[3]
    assert "Enter the inflation" in answers[4]
    assert LifeChoice.objects.count() == 0


def test_the_answer_turns_at_the_printed_price_and_life(screens):
    """In money alone: without own hours there is nothing that could change the choice besides."""
    hourless = {f"alternatives-{n}-first_hours": "0" for n in (0, 1)}
    hourless |= {"alternatives-0-upkeep_hours": "0"}
    page = look(screens, **hourless)
    text = page.text
    price = D(text.split("up to a first cost of $")[-1].split(" ")[0].replace(",", ""))
    assert "Steel costs no more than Painted" in text
    for more, cheapest in ((D("-0.01"), "Steel"), (D("0.01"), "Painted")):
        typed = {"alternatives-1-first_amount": str(price + more)}
        turned = look(screens, **hourless, **typed)
        assert f"Over 30 years {cheapest} costs least" in turned.text
    life = int(text.split("Break-even at a life of ")[1].split(" ")[0])
    for less, cheapest in ((0, "Steel"), (1, "Painted")):
        turned = look(screens, **hourless, **{"alternatives-1-life_years": str(life - less)})
        assert f"Over 30 years {cheapest} costs least" in turned.text


def headlines(page: Page) -> tuple[str, str]:
    """The verdict, and the other headline under it ("" for none)."""
    html = page.html.split('<p class="verdict">')[1].split("<section")[0]
    first, _, rest = html.partition("</p>")
    other = rest.split("<p>")[1] if "<p>Own hours, at" in rest else ""
    return Page(first).text, Page(other.split("</p>")[0]).text


def test_own_hours_lead_where_they_change_the_choice(screens):
    """Both headlines are said, and the parts under them are those of the first."""
    page = saved(screens, **{"alternatives-0-first_amount": "500"})
    url = screens.url("life_choice", LifeChoice.objects.get().pk)
    money, hours = (screens.read(f"{url}?hours={counted}") for counted in (0, 1))
    with_hours, in_money = headlines(page)
    assert with_hours.startswith("Over 30 years, own hours counted, Steel costs least: $")
    assert in_money.startswith(
        "Own hours, at $20.00 each, change the choice. In money alone Painted costs least: $"
    )
    assert headlines(hours) == (with_hours, in_money)
    first, other = headlines(money)
    assert first.startswith("Over 30 years Painted costs least: $")
    assert "With own hours counted Steel costs least: $" in other
    assert cells(page, "Painted") == cells(money, "Painted")


def test_own_hours_that_change_nothing_stay_beside(screens):
    page = saved(screens)
    assert headlines(page)[0].startswith("Over 30 years Steel costs least: $")
    assert headlines(page)[1] == ""
    assert "Count own hours" in page.text


def test_what_a_replacement_drags_along_counts_each_time(screens):
    """Replaced after 12 and 24 years: 80 and 5 h each time, beside what it costs itself.

    At 3 % above inflation, by hand, beyond the same comparison without it.
    """
    plain = saved(screens)
    dragged = {
        "alternatives-0-drags_along": "taking off the battens",
        "alternatives-0-drag_amount": "80",
        "alternatives-0-drag_hours": "5",
    }
    page = saved(screens, name="With the battens", **dragged)
    more = 80 * (1 / D("1.03") ** 12 + 1 / D("1.03") ** 24)
    was, now = (D(cells(one, "Painted")[1].lstrip("$").replace(",", "")) for one in (plain, page))
    assert abs(now - was - more) <= D("0.01")
    assert (cells(plain, "Painted")[3], cells(page, "Painted")[3]) == ("70 h", "80 h")
    assert page.text.count("Dragged along: taking off the battens") == 2
    assert "taking off the battens: $80.00, own hours: 5 h" in page.text


def test_what_is_dragged_along_is_named_and_known(screens):
    page = screens.refused("life_choice_add", TYPED | {"alternatives-0-drag_amount": "80"})
    assert "Name what a replacement drags along" in " ".join(page.faults)
    named = {"alternatives-0-drags_along": "taking off the battens"}
    text = saved(screens, **named).text
    assert "Painted is left out: no cost of taking off the battens is stated" in text


def test_what_is_not_known_stays_so(screens):
    page = saved(screens, **{"alternatives-0-life_years": "", "alternatives-1-first_hours": ""})
    assert "Not enough is known yet" in page.text
    assert "Painted is left out: no life is stated." in page.text
    assert cells(page, "Painted")[1:] == ["not known"] * 5
    assert cells(page, "Steel")[3:] == ["not known"] * 3
    assert "Or costs no more than Steel with a life of" in page.text
    assert "No source stated." in page.text


def test_ranges_are_told_in_words(screens):
    page = look(
        screens,
        **{
            "alternatives-0-first_low_amount": "700",
            "alternatives-0-first_high_amount": "1100",
            "alternatives-0-life_low_years": "8",
            "alternatives-0-life_high_years": "16",
            "alternatives-1-life_low_years": "25",
        },
    )
    assert "Painted is cheaper than Steel in" in page.text
    assert "of the 9 cases stated" in page.text
    assert "Steel stays cheaper than Painted in 1 of the 2 cases stated; break-even" in page.text
    combined = "Of all 18 combinations of the first costs and lives stated, Painted is cheapest in"
    assert combined in page.text


def test_a_rate_with_inflation_comes_to_the_same(screens):
    """1 + nominal = (1 + real)(1 + inflation): 5.06 % with 2 % in it is 3 % above it."""
    real = saved(screens)
    nominal = saved(
        screens, rate_kind="nominal", rate_percent="5.06", inflation_percent="2", name="Again"
    )
    assert cells(real, "Painted") == cells(nominal, "Painted")
    assert "Rate above inflation 3%" in nominal.text


def test_it_begins_with_what_the_build_knows_of_a_component(screens, entries, build):
    board = entries.component("Board", "ft", required_text="200 ft", life_years=D(25))
    entries.price(board, 4)
    entries.purchase("P1", line(board, "100 ft", line_price_amount=D(150)))
    entries.purchase("P2", line(board, "50 ft", line_price_amount=D(60)), state="offer")
    start = start_values(build, board, DAY)
    assert start.quantity_text == "200 ft"
    assert [(w["first_amount"], w["life_years"]) for w in start.alternatives] == [
        (D("300.00"), 25),
        (D("240.00"), 25),
        (D("864.00"), None),
    ]
    component = screens.open("component", board.pk)
    *_, (url, _) = [link for link in component.links if link[1] == "Compare lifetime cost"]
    form = screens.read(url).form.fields
    assert form["alternatives-0-first_amount"] == "300"
    assert form["alternatives-1-basis"] == "Landed cost of offer P2, 4 May 2026" or form[
        "alternatives-1-basis"
    ].startswith("Landed cost of offer P2")
    assert form["alternatives-2-name"] == "Board, new"


def test_what_has_no_known_cost_begins_empty(screens, entries, build):
    shelf = entries.component("Shelf", life_years=D("7.5"))
    start = start_values(build, shelf, DAY)
    assert start.quantity_text == "1 piece"
    assert [(w["first_amount"], w["life_years"], w["basis"]) for w in start.alternatives] == [
        (None, None, ""),
        (None, None, ""),
    ]


def test_another_builds_component_is_not_found(screens, other_build, add_component, clients):
    foreign = add_component(other_build, "Foreign")
    for number in (foreign.pk, "x", "9" * 30, "-1"):
        url = screens.url("life_choice_add") + f"?component={number}"
        assert clients["owner"].get(url).status_code == 404


def test_a_way_is_added_and_taken_out(screens):
    saved(screens)
    pk = LifeChoice.objects.get().pk
    screens.save("life_choice_edit", {"alternatives-2-name": "Larch"}, pk)
    assert list(LifeChoice.objects.get().alternatives.values_list("name", flat=True)) == [
        "Painted",
        "Steel",
        "Larch",
    ]
    screens.save("life_choice_edit", {"alternatives-0-DELETE": True}, pk)
    assert LifeChoice.objects.get().alternatives.count() == 2
    page = screens.refused("life_choice_edit", {"alternatives-0-DELETE": True}, pk)
    assert "Add another way" in " ".join(page.faults)


def test_six_ways_are_refused_and_five_are_told_apart(screens, entries):
    page = screens.add_rows("life_choice_add", "alternatives", 6)
    names = {f"alternatives-{n}-name": f"Way {n}" for n in range(6)}
    costs = {f"alternatives-{n}-first_amount": f"{n + 1}00" for n in range(6)}
    head = {"name": "Many", "study_years": "10", "rate_percent": "0"}
    answer = screens.send(
        screens.url("life_choice_add"), screens.filled(page.form, head | names | costs)
    )
    assert answer.status_code == 422
    assert "hard to tell apart" in answer.content.decode()
    five = entries.life_choice("Five", *(way(f"Way {n}", 100 + n, 10 + n) for n in range(5)))
    html = screens.open("life_choice", five.pk).html
    assert [f"line-{letter}" in html for letter in "abcde"] == [True] * 5


def test_the_picture_says_in_words_what_it_shows(screens):
    html = saved(screens).html
    text = html.split('id="years-picture-desc">')[1].split("</desc>")[0]
    assert text.startswith("A, Painted: $900.00 at first,")
    assert "B, Steel: $1,900.00 at first, $1,900.00 by the middle of the years" in text


def test_each_figure_has_its_years(screens):
    page = saved(screens)
    assert page.text.count("Replaced") >= 2
    assert page.text.count("Less what is left") == 2
    assert "Total" in page.text


def test_the_list_leads_to_it_and_a_viewer_reads_it(screens, clients, build):
    saved(screens)
    viewer = Screens(clients["viewer"], build.pk)
    page = viewer.open("life_choices")
    ((url, _),) = [link for link in page.links if link[1] == "North wall"]
    read = viewer.read(url)
    assert "Steel costs least" in read.text
    assert "Change comparison" not in read.text


def test_a_components_page_leads_to_its_comparisons(screens, entries):
    board = entries.component("Board")
    made = entries.life_choice("Which boards?", component=board)
    links = dict((text, url) for url, text in screens.open("component", board.pk).links)
    assert links["Which boards?"] == screens.url("life_choice", made.pk)
    answer = screens.send(screens.url("record_delete", "component", board.pk), {})
    assert "lifetime cost comparison" in answer.content.decode()


def test_deleting_leads_back_to_the_list(screens, clients, build):
    saved(screens)
    pk = LifeChoice.objects.get().pk
    answer = screens.send(screens.url("record_delete", "life-choice", pk), {})
    assert answer.url == reverse("life_choices", args=[build.pk])
    assert not LifeChoice.objects.exists()


def test_an_index_is_pasted_read_back_and_changed(screens, build):
    screens.save(
        "cost_index_add",
        {
            "name": "Softwood",
            "source": "A bulletin",
            "months_text": "Apr 2013 223.1 p\n2012-12 185.7",
        },
    )
    index = build.cost_indexes.get()
    form = screens.open("cost_index_edit", index.pk).form.fields
    assert form["months_text"] == "2012-12 185.7\n2013-04 223.1 preliminary"
    keys = dict(index.months.values_list("month", "pk"))
    screens.save(
        "cost_index_edit", {"months_text": "2013-04 224\n2013-05 230 preliminary"}, index.pk
    )
    assert list(index.months.values_list("value", "is_preliminary")) == [
        (D(224), False),
        (D(230), True),
    ]
    assert index.months.first().pk in keys.values()
    assert "Apr 2013" in screens.open("cost_indexes").text
