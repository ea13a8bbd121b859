"""Filling a form in: rightly, so that it is taken, and then wrongly in a few places."""

import re
from random import Random

from materials.templatetags.form_tokens import NAME as ONCE

from . import noise
from .pages import Field, Form
from .sending import Pair, Upload

# End of a field's name -> what is right there.
RIGHT = (
    ("quantity_text", ("3 pieces", "1 piece")),
    ("used_text", ("1 piece",)),
    ("made_text", ("2 pieces", "1 piece")),
    ("required_text", ("9 pieces",)),
    ("distance_text", ("12 mi",)),
    ("per_text", ("", "piece")),
    ("contents", ("", "1 piece = 2x8x12")),
    ("unit", ("piece", "ft")),
    ("percent", ("10", "")),
    ("hours", ("2", "1:30")),
    ("password1", ("a long enough one",)),
    ("password2", ("a long enough one",)),
    ("password", ("pw-for-tests",)),
    ("email", ("a@example.org", "")),
    ("username", ("newcomer", "owner")),
    ("currency", ("USD", "EUR")),
    ("floor_area", ("200 sq ft", "")),
    ("other_areas", ("", "Wall = 5 sq ft")),
    ("later_rates", ("", "2026-05-01 = 0.9")),
    ("pasted", ("Date,What,Qty,Total\n2026-03-07,Board,2 pieces,9\n",)),
    ("what", ("Board", "Batten", "Sash")),
    ("component", ("Board",)),
    ("price", ("4", "12.50")),
    ("weight", ("", "2")),
    ("year", ("", "1950")),
    ("count", ("3", "")),
)
CONTROLS = (
    "add_row", "look", "read_again", "save", "DELETE", "use_what", "use_quantity_text", "version",
    "csrfmiddlewaretoken", ONCE, "next", "place", "build", "pk", "id", "user", "role", "owner",
)  # fmt: skip


def right(random: Random, field: Field) -> str:
    """Something that fits a field, mostly what stands in it."""
    if field.options:
        return random.choice((field.value, random.choice(field.options)))
    if field.value or field.kind == "hidden":
        return field.value
    if field.kind == "date" or field.name.endswith("_on"):
        return "2026-05-04"
    for ending, values in RIGHT:
        if field.name.endswith(ending):
            return random.choice(values)
    if "amount" in field.name or "price" in field.name or "rate" in field.name:
        return random.choice(("", "12.50"))
    return random.choice(("Ann", "Yard", "X9", "Ben", ""))


def filled(random: Random, form: Form, file: Upload | None = None) -> list[Pair]:
    """What a browser would send of a form that somebody filled in."""
    pairs: list[Pair] = []
    buttons = [field for field in form.fields if field.kind == "submit"]
    for field in form.fields:
        if field.kind == "submit":
            continue
        if field.kind == "file":
            if file is not None or random.random() < 0.3:
                data = noise.text(random, 300).encode("utf-8", "surrogatepass")
                pairs.append((field.name, file or Upload("a.jpg", data, "image/jpeg")))
        elif field.kind in ("checkbox", "radio"):
            if field.sent if random.random() < 0.8 else random.random() < 0.5:
                pairs.append((field.name, field.value))
        elif field.name == ONCE:
            # Each case is a form of its own.
            pairs.append((field.name, f"{random.getrandbits(128):032x}"))
        else:
            pairs.append((field.name, right(random, field)))
    if buttons and random.random() < 0.8:
        chosen = random.choice(buttons)
        pairs.append((chosen.name, chosen.value))
    return pairs


def spoil(random: Random, pairs: list[Pair], keys: list[str]) -> list[Pair]:
    """Change a few things that no page would send."""
    pairs = list(pairs)
    for _ in range(random.choice((0, 1, 1, 1, 2, 2, 3, 8))):
        way = random.randrange(12)
        if not pairs or way == 0:
            pairs.append((random.choice((*CONTROLS, noise.text(random, 20))), noise.value(random)))
            continue
        at = random.randrange(len(pairs))
        name, sent = pairs[at]
        text = sent if isinstance(sent, str) else sent.name
        if way <= 4:
            pairs[at] = (name, noise.value(random))
        elif way <= 6:
            pairs[at] = (name, noise.bent(random, text))
        elif way == 7:
            pairs[at] = (name, random.choice(keys))
        elif way == 8:
            _recount(random, pairs)
        elif way == 9:
            del pairs[at]
        elif way == 10:
            pairs.insert(at, (name, noise.value(random)))
        else:
            _move(random, pairs, at)
    if random.random() < 0.02:
        name = random.choice(pairs)[0] if pairs else "x"
        pairs += [(f"{name}{n}", "x") for n in range(10_000)]
    return pairs


def _recount(random: Random, pairs: list[Pair]) -> None:
    """Tamper with how many rows a page says it has, and with their numbers."""
    counts = [n for n, (name, _) in enumerate(pairs) if name.endswith("_FORMS")]
    if not counts:
        return
    at = random.choice(counts)
    wrong = (
        "",
        "-1",
        "0",
        "1",
        "7",
        "199",
        "201",
        "1000000",
        "9" * 30,
        "9" * 5000,
        "x",
        "1.5",
        "２",
    )
    if random.random() < 0.3:
        del pairs[at]
    else:
        pairs[at] = (pairs[at][0], random.choice(wrong))


def _move(random: Random, pairs: list[Pair], at: int) -> None:
    """A value under another name, or a file in place of a text and the reverse."""
    name, sent = pairs[at]
    way = random.randrange(3)
    if way == 0:
        pairs[at] = (random.choice(pairs)[0], sent)
    elif way == 1:
        pairs[at] = (name, Upload("x\u202e.png", noise.text(random).encode("utf-8", "replace")))
    else:
        number = random.choice(("-1", "199", "200", "99999", "9" * 30, "", "x"))
        pairs[at] = (re.sub(r"-\d+-", f"-{number}-", name), sent)
