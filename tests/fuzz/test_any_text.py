"""Any text at all in the parsers and in one field of a form; what fails is made shorter."""

import pytest
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.calc.units import UNITS
from tests.searches import TIMES

from . import noise
from .asking import judge_post, post, who
from .filling import filled
from .over_texts import PARSERS, try_parser
from .registry import routes_of
from .running import Case, random_of

# Lone halves of a pair too: a form may send them.
SIGNS = st.characters(exclude_categories=())
NUMBER = st.one_of(
    st.sampled_from(noise.NUMBERS),
    st.decimals(allow_nan=True, allow_infinity=True).map(str),
    st.integers().map(str),
    st.fractions().map(str),
)
PIECE = st.one_of(
    NUMBER,
    st.sampled_from(sorted(UNITS)),
    st.sampled_from([" ", "@", "x", "×", "=", ";", "/", "'", '"', " per ", "-", ":", "and", "%"]),
    st.text(SIGNS, max_size=3),
)
QUANTITY_LIKE = st.lists(PIECE, max_size=9).map("".join)
ANY_TEXT = st.one_of(st.text(SIGNS, max_size=60), QUANTITY_LIKE, st.sampled_from(noise.WORDS))


@given(st.sampled_from(sorted(PARSERS)), ANY_TEXT)
@settings(max_examples=250 * TIMES, derandomize=True)
def test_parsers_read_exactly_or_refuse_with_a_sentence(name, text):
    assert try_parser(name, text) == ""


@pytest.mark.django_db
@given(
    st.sampled_from([route for route in routes_of("form") if route not in routes_of("workbook")]),
    st.integers(0, 40),
    ANY_TEXT,
)
@settings(max_examples=40 * TIMES, derandomize=True)
def test_one_field_takes_any_text_or_says_why_not(runner, route, place, text):
    random = random_of(Case(0, place, "form", route))
    watch = runner.watch
    watch.start()
    form = runner.forms[route][0]
    pairs = filled(random, form)
    if pairs:
        place %= len(pairs)
        pairs[place] = (pairs[place][0], text)
    with transaction.atomic():
        part = who(random, route)
        judge_post(watch, random, route, part, post(watch, part, form.action, pairs, False))
        transaction.set_rollback(True)
    assert watch.problems == []
