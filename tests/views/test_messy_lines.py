"""Lines as a builder writes them in a yard: each is understood and shown, or refused in words.

Whatever happens, nothing is saved by looking and nothing typed is lost.
"""

import html
import re
from decimal import Decimal

import pytest
from django.urls import reverse

from materials.models import Component, Purchase
from tests.views.screens import Page

EACH, LINE, FREE = "each", "line", "free"
# (what, how much, price, what the price is for) -> words that the page shows.
UNDERSTOOD = [
    ("Old 2x8", "16 @ 2x8x12", "1.50", EACH, "16 pieces of 2x8x12 (192 ft, 256 board feet)"),
    ("old 2X8", "16 @ 2X8X12", "$1.50", EACH, "Price $24.00"),
    ("  old   2x8 ", "16 @ 2×8×12", "1,50", EACH, "Price $24.00"),
    ("Old 2x8", "12pcs @2x8x12", "18", LINE, "Per usable piece $1.50"),
    ("Old 2x8", "a dozen @ 2x8x12", "18", LINE, "that is 12 pieces"),
    ("Old 2x8", "two dozen pieces", "24", LINE, "24 pieces. "),
    ("Old 2x8", "12 ea.", "2", EACH, "12 pieces. "),
    ("Old 2x8", "120 ft", "0.40", EACH, "120 ft, that is 10 pieces. "),
    ("Old 2x8", "120'", ".4", EACH, "Price $48.00"),
    ("Old 2x8", "7' 6\"", "0.40", EACH, "7.5 ft, that is 0.625 pieces"),  # 7.5 / 12
    ("Old 2x8", "7’ 6”", "3", LINE, "Per usable piece $4.80"),  # 3.00 / 0.625
    ("Old 2x8", "140 bf", "1.10", EACH, "that is 8.75 pieces"),  # 140 / 16
    ("Old 2x8", "140 bd. ft.", "1.10", EACH, "140 board feet, that is 8.75 pieces"),
    ("Old 2x8", "0.14 MBF", "900", EACH, "Price $126.00"),
    ("Paint", "20 GAL", "8", EACH, "20 gal. "),
    ("Paint", "20gal", "8", EACH, "Price $160.00"),
    ("Paint", "3 1/2 gal.", "8", EACH, "3.5 gal. "),
    ("Paint", "3½ gal", "8", EACH, "Price $28.00"),
    ("Paint", "half a gallon", "8", LINE, "0.5 gal. "),
    ("Paint", "4 @ 5 gal", "40", EACH, "4 pieces of 5 gal (20 gal), that is 20 gal"),
    ("paint", "19 litres", "57", LINE, "that is 5.019 gal"),  # 19 / 3.785411784
    ("Paint", "1,250 L", "1", EACH, "the comma in 1,250 read as thousands"),
    ("Paint", "0,5 m³", "100", LINE, "the comma in 0,5 read as the decimal point"),
    ("Siding", "2.5 squares", "60", EACH, "2.5 squares (250 sq ft)"),
    ("Siding", "250 SF", "1", EACH, "250 sq ft. "),
    ("SIDING", "250 ft²", "1", EACH, "250 sq ft. "),
    ("Siding", "16 @ 4x8 sheets", "10", EACH, "16 sheets of 4 ft x 8 ft (512 sq ft)"),
    ("Siding", "23 m2", "253", LINE, "that is 247.57 sq ft"),  # 23 x 10.7639104
    ("Gravel", "1½ cu yd", "45", EACH, "Price $67.50"),
    ("Gravel", "3 yd3", "45", EACH, "3 cu yd. "),
    ("Screws", "3 lb 8 oz", "9", LINE, "3.5 lb. "),
    ("Brick", "1,250 pcs", "0.25", EACH, "Price $312.50"),
    ("Door", "one pc", "30", LINE, "1 piece. "),
    ("Door", "1 pair", "30", LINE, "1 pair (2 pieces)"),
    ("Door", "2\u00a0pcs", "$ 1,250", LINE, "Price $1,250.00"),
    ("Door", "2 pcs", "1.250,00", LINE, "Price $1,250.00"),
    ("Door", "2 pcs", "FREE", LINE, "Price $0.00"),
    ("Door", "2 pcs", "", FREE, "Price $0.00"),
    ("Door", "2 pcs", "", LINE, "Price not known"),
    ("🚪 door, glazed", "2 pcs", "1", EACH, "🚪 door, glazed new component: 2 pieces"),
    ("<b>Door</b>", "2 pcs", "1", EACH, "<b>Door</b> new component"),
    ("Rebar #4", "20 pcs of 20'", "0.5", EACH, "20 pieces of 20 ft (400 ft)"),
    ("Rebar #4", "20 sticks of 20 ft", "0.5", EACH, "20 pieces of 20 ft (400 ft)"),
    ("Old 2x8", "25 boards", "1.20 each", EACH, "Price $30.00"),
    ("Old 2x8", "ten boards", "$1.50 ea", LINE, "Price $15.00"),
    ("Old 2x8", "120 ft", "1.20 each", EACH, "The price is read as that of one piece. "),
    ("Old 2x8", "240 ft", "1.20 each", EACH, "Price $24.00"),  # 240 / 12 = 20 pieces
    ("Siding", "16 @ 4x8 sheets", "8/sheet", LINE, "Price $128.00"),
    ("Siding", "3 @ 4x8 sheets", "50 per sq yd", EACH, "read as that of one sq yd. "),
    ("Gravel", "3 cu yd", "50/cu yd", LINE, "Price $150.00"),
    ("Screws", "48 oz", "$1.80/lb", EACH, "Price $5.40"),  # 3 lb
    ("Siding", "250 sq ft", "12 per 100 sq ft", EACH, "Price $30.00"),
    ("Door", "2 pcs", "20 bucks", LINE, "Price $20.00"),
    ("Door", "2 pcs", "40.-", LINE, "Price $40.00"),
    ("Door", "2 pcs", "45 obo", LINE, "Price: or best offer. "),
    ("Door", "2 pcs", "~40", LINE, "Price: an estimate. "),
    ("Paint", "20 gal", "4 each", EACH, "The price is read as that of one gal. "),
    ("Doors", "2 pcs", "45", LINE, "Did you mean “Door”? It exists already."),
    ("old 2 X 8s", "2 pcs", "45", LINE, "Did you mean “Old 2x8”? It exists already."),
]
REFUSED = [
    ("Old 2x8", "12 2x8x12", "2", EACH, "Did you mean '12 @ 2x8x12'?"),
    ("Old 2x8", "16 - 2x8x12s", "2", EACH, "Did you mean '16 @ 2x8x12'?"),
    ("Old 2x8", "6x8x12 x 3", "2", EACH, "Did you mean '3 @ 6x8x12'?"),
    ("Old 2x8", "40 x 8ft", "2", EACH, "Did you mean '40 @ 8 ft' or '1 @ 40 x 8 ft'?"),
    ("Old 2x8", "25 pc 16'", "2", EACH, "Did you mean '25 pc @ 16''?"),
    ("Old 2x8", "12 boards", "8/sheet", EACH, "how many pieces one sheet holds"),
    ("Paint", "2 x 5 gal", "8", EACH, "Did you mean '2 @ 5 gal'?"),
    ("Siding", "12 sheets 4x8", "10", EACH, "Did you mean '12 sheets @ 4x8'?"),
    ("Siding", "11 4x8", "10", EACH, "Did you mean '11 @ 4x8 ft'?"),
    ("Gravel", "3 cu yd", "50/yd", EACH, "the quantity is in cubic yards. Did you mean 50/cu yd?"),
    ("Door", "400 lf", "1", EACH, "how many feet one piece measures, like '1 piece = 12 ft'"),
    ("Door", "2 pcs", "5 each", "lot", "This is the price of one, and a lot is ticked"),
    ("Old 2x8", "2x8x12", "2", EACH, "has no count"),
    ("Old 2x8", "12 @ 2x8x12 and 4 @ 2x8x6", "2", EACH, "'and' is not a unit known here"),
    ("Old 2x8", "10-12 pieces", "2", EACH, "is a range: enter one number"),
    ("Old 2x8", "~12 pieces", "2", EACH, "holds '~', which is not understood"),
    ("Old 2x8", "5 ft 18 in", "2", EACH, "parts that do not add up to one measure"),
    ("Paint", "20 galons", "8", EACH, "did you mean 'gal'?"),
    ("Paint", "5 gal bucket", "40", EACH, "is understood as '5 gal', but not 'bucket'"),
    ("Paint", "2 buckets", "40", EACH, "how many gallons one bucket comes to"),
    ("Siding", "16 sheets", "10", EACH, "like '1 sheet = 32 sq ft'"),
    ("Siding", "16 sheets 4x8", "10", EACH, "is understood as '16 sheets', but not '4 x 8'"),
    ("Gravel", "2 tons", "30", EACH, "how many tons one cubic yard weighs"),
    ("Gravel", "1½ yards", "45", EACH, "Did you mean 1½ cu yd or 1½ linear yards?"),
    ("Gravel", "2 truckloads", "45", EACH, "how many cubic yards one load comes to"),
    ("Screws", "3 bxs", "9", EACH, "did you mean 'box'?"),
    ("Brick", "1,250", "0.25", EACH, "“1,250” has no unit. Did you mean 1,250 pieces?"),
    ("Brick", "1 250 pcs", "0.25", EACH, "Did you mean '1250 pcs'?"),
    ("Brick", "500 🧱", "0.25", EACH, "holds '🧱', which is not understood"),
    ("Brick", "lots", "50", LINE, "has no number where one belongs"),
    ("Brick", "0 pcs", "50", LINE, "is zero: enter a quantity above zero"),
    ("Brick", "-20 pcs", "50", LINE, "is negative"),
    ("Brick", "1e3 pcs", "50", LINE, "has an exponent"),
    ("Brick", "1/0 pallet", "50", LINE, "divides by zero"),
    ("Brick", "half pallet", "50", LINE, "like '1 pallet = 10 pieces'"),
    ("Door", "1 x 80 x 200 cm", "30", LINE, "has no count"),
    ("Door", "２ pcs", "30", LINE, "holds '２', which is not understood"),
    ("Door", "2 pcs", "5", FREE, "It has a price and is ticked as free: keep one of the two."),
    ("Door", "2 pcs", "2 for 5", LINE, "“2 for 5” is understood as 2, but not 'for 5'"),
    ("Door", "2 pcs", "40 💵", LINE, "“40 💵” is not a number"),
    ("Door", "2 pcs", "4O", LINE, "“4O” is understood as 4, but not 'O'"),
    ("Door", "2 pcs", "12..5", LINE, "“12..5” is not a number"),
    ("Door", "2 pcs", "-40", LINE, "cannot be below zero"),
    ("Door", "2 pcs", "12.34567", LINE, "more than 4 decimal places: round it"),
]
OTHERS = {
    "source": "salvage",
    "supplier": "Salvage yard, Dock Street 🏚",
    "bought_on": "2026-05-04",
    "state": "received",
    "paid_by": "Ann",
    "usable_percent": "85",
    "note": "two with a crack; ask for the rest <soon>",
}


@pytest.fixture
def send(clients, build, entries):
    """Send the short form of a build that knows a few components."""
    units = {"Paint": "gal", "Siding": "sq ft", "Gravel": "cu yd", "Screws": "lb"}
    for name in ("Old 2x8", "Paint", "Siding", "Gravel", "Screws", "Brick", "Door"):
        contents = "1 piece = 2x8x12" if name == "Old 2x8" else ""
        entries.component(name, units.get(name, "piece"), contents=contents)

    def post(data, **options):
        return clients["owner"].post(reverse("log", args=[build.pk]), data, **options)

    return post


def typed(line) -> dict[str, str]:
    """What the fields of the short form hold for a line of the tables."""
    names = ("what", "quantity_text", "price", "price_for")
    return OTHERS | dict(zip(names, line[:4], strict=True))


def words(answer) -> str:
    """The words of an answer as they are read."""
    text = html.unescape(re.sub(r"<[^>]+>", "", re.sub(r"</(dt|p)>", " ", answer.content.decode())))
    return " ".join(text.split())


def lost(answer, data) -> dict[str, str]:
    """What was typed and no longer stands in the form."""
    fields = Page(answer.content.decode()).form.fields
    return {name: value for name, value in data.items() if fields.get(name) != value}


def test_there_are_lines_enough():
    lines = UNDERSTOOD + REFUSED
    assert len({line[:4] for line in lines}) == len(lines) >= 50


def test_what_is_understood_is_shown_and_not_saved(send):
    wrong = []
    components = Component.objects.count()
    for line in UNDERSTOOD:
        # All of it usable, so that the figures can be worked out in the head.
        data = typed(line) | {"usable_percent": "100"}
        text = words(send(data, headers={"HX-Request": "true"}))
        # After what was understood comes the full stop, or what the price is for.
        meant = line[4].removesuffix(". ")
        ends = (". ", "; at $", "; free.") if line[4].endswith(". ") else ("",)
        if not any(f"{meant}{end}" in text for end in ends):
            wrong.append((line, text))
    assert wrong == []
    assert not Purchase.objects.exists()
    assert Component.objects.count() == components


def test_what_is_refused_is_told_in_words_while_typing_and_on_saving(send):
    wrong = []
    for line in REFUSED:
        data = typed(line)
        wrong += [
            (line, answer.status_code, words(answer))
            for answer in (send(data, headers={"HX-Request": "true"}), send(data))
            if line[4] not in words(answer)
        ]
    assert wrong == []
    assert not Purchase.objects.exists()


def test_nothing_typed_is_lost(send):
    """Neither when it is looked at without scripts, nor when it is refused."""
    wrong = []
    for line in UNDERSTOOD + REFUSED:
        data = typed(line)
        looked = send(data | {"look": "1"})
        wrong += [(line, name) for name in lost(looked, data)]
        assert looked.status_code == (200 if line in UNDERSTOOD else 422)
    assert wrong == []
    assert not Purchase.objects.exists()


def buttons(answer) -> list[tuple[str, str]]:
    """Offers of a page that a tap sends: (name, value)."""
    text = answer.content.decode()
    found = re.findall(r'<button class="offer"[^>]* name="(.*?)" value="(.*?)"', text)
    return [(name, html.unescape(value)) for name, value in found]


@pytest.mark.parametrize(
    ("line", "offer", "result"),
    [
        (("Brick", "1250", "0.25", EACH), ("quantity_text", "1250 pieces"), "Brick: 1250 pieces;"),
        (("Paint", "2 x 5 gal", "8", EACH), ("quantity_text", "2 @ 5 gal"), "that is 10 gal"),
        (("Paint", "20 galons", "8", EACH), ("quantity_text", "20 gal"), "Price $160.00"),
        (("Gravel", "3 cu yd", "50/yd", EACH), ("price", "50/cu yd"), "Price $150.00"),
        (("Doors", "2 pcs", "8", EACH), ("what", "Door"), "Door: 2 pieces; usable"),
    ],
)
def test_what_is_offered_is_taken_by_a_tap_and_only_looked_at(line, offer, result, send):
    data = typed(line)
    sent = (f"use_{offer[0]}", offer[1])
    for answer in (send(data | {"look": "1"}), send(data, headers={"HX-Request": "true"})):
        assert sent in buttons(answer)
    answer = send(data | dict([sent]))
    assert result in words(answer)
    assert answer.status_code == 200
    assert buttons(answer) == []
    assert lost(answer, data | dict([offer])) == {}
    assert not Purchase.objects.exists()


def test_a_distance_in_words_is_asked_about(send):
    data = typed(("Door", "2 pcs", "5", LINE)) | {"distance_text": "about 40 miles"}
    answer = send(data)
    assert "'about 40 miles' is not a distance. Did you mean '40 mi'?" in words(answer)
    assert buttons(answer) == [("use_distance_text", "40 mi")]
    assert "Price $5.00" in words(send(data | {"use_distance_text": "40 mi"}))
    text = words(send(data | {"distance_text": "far"}))
    assert "'far' is not a distance: enter it like 40 mi or 65 km." in text


def test_what_one_piece_holds_can_be_said_where_it_is_missed(send, build):
    data = typed(("Door", "400 lf", "1", EACH))
    refused = send(data)
    assert re.search(r'<details class="more holds" open>', refused.content.decode())
    assert lost(refused, data) == {}
    typing = send(data, headers={"HX-Request": "true"}).content.decode()
    assert '<a href="#id_contents">' in typing
    assert "that is 25 pieces" in words(send(data | {"contents": "1 piece = 16 ft", "look": "1"}))
    assert Component.objects.get(name="Door").contents == ""
    assert send(data | {"contents": "1 piece = 16 ft"}).status_code == 302
    assert Component.objects.get(name="Door").contents == "1 piece = 16 ft"
    # A second, other statement contradicts it.
    again = send(data | {"contents": "1 piece = 12 ft"})
    assert "state in two different ways" in words(again)
    assert Component.objects.get(name="Door").contents == "1 piece = 16 ft"


def test_no_contents_are_asked_for_where_none_would_help(send):
    for line in (("Door", "lots", "1", EACH), ("Door", "2 pcs", "x", EACH)):
        assert '<details class="more holds">' in send(typed(line)).content.decode()


def test_dollars_are_refused_in_another_currency(send, build):
    build.currency = "EUR"
    build.save()
    text = words(send(typed(("Door", "2 pcs", "20 bucks", LINE))))
    assert "That is in dollars, and this build is in EUR: enter the amount in EUR." in text


def test_the_words_of_a_price_are_kept_with_the_line(send):
    assert send(typed(("Screws", "48 oz", "$1.80/lb", LINE))).status_code == 302
    line = Purchase.objects.get().lines.get()
    assert (line.price_per_text, line.price_amount) == ("lb", Decimal("5.40"))
