"""Quantities that another material would make another one of: asked, once for all rows alike."""

import pytest
from django.urls import reverse

from materials.queries.imports import get_job, get_row

from .steps import as_text, check, faults, lines, run

HEAD = ["Date", "Item", "Qty", "Cost"]
DAY = "2026-05-02"


def table(*rows):
    return as_text([HEAD, *([DAY, item, quantity, "60"] for item, quantity in rows)])


@pytest.mark.parametrize(
    ("item", "quantity", "offers"),
    [
        ("Gravel", "3 yards", ["3 cu yd", "3 linear yards"]),
        ("Concrete block", "120 @ 8x8x16", ["120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft"]),
        ("Concrete block", "120 8x8x16", ["120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft"]),
        ("Foam board", "60 sheets 4x8x2",
         ["60 sheets @ 2 in x 4 ft x 8 ft", "60 sheets @ 4 in x 8 ft x 2 ft"]),
        ("Concrete", "96 ft x 12 in x 6 in", ["48 cu ft", "1 @ 96 ft x 12 in x 6 in"]),
    ],
)  # fmt: skip
def test_what_could_mean_two_things_is_asked(item, quantity, offers, entries):
    job = check(entries, table((item, quantity)), source="salvage")
    said = " or ".join(offers)
    sentence = f"“{quantity}” could mean another quantity. Did you mean {said}?"
    assert faults(job) == [(2, "quantity", sentence)]
    assert get_row(job, 2).values["offers"] == offers


@pytest.mark.parametrize(
    ("item", "quantity"),
    [
        ("Fabric", "3 yards"),
        ("Gravel", "3 cu yd"),
        ("Boards", "40 @ 2x8x12"),
        ("Plywood", "20 sheets"),
        ("Concrete block", "120 pieces"),
    ],
)
def test_what_is_plain_is_not_asked(item, quantity, entries):
    assert faults(check(entries, table((item, quantity)), source="salvage")) == []


def test_rows_alike_are_answered_at_once(entries, build, clients):
    rows = [("Gravel", "3 yards"), ("Sand", "2 yards"), ("Gravel", "1.5 yards"),
            ("Concrete block", "120 @ 8x8x16"), ("Gravel", "2 cu yd")]  # fmt: skip
    job = check(entries, table(*rows), source="salvage")
    assert [number for number, *_ in faults(job)] == [2, 3, 4, 5]
    url = reverse("import_rows", args=[build.pk, job.pk])
    questions = clients["owner"].get(url).context["questions"]
    assert [(q.text, q.rows, q.offers) for q in questions] == [
        ("3 yards", [2, 3, 4], ["3 cu yd", "3 linear yards"]),
        ("120 @ 8x8x16", [5], ["120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft"]),
    ]
    page = clients["owner"].get(url).content.decode()
    assert "rows 2 to 4" in page
    # What was typed into another row in the same form is kept.
    sent = {"meant": f"{questions[0].key}:0", "r5-total": "61"}
    assert clients["owner"].post(url, sent).status_code == 302
    job = get_job(build, job.pk)
    assert [number for number, *_ in faults(job)] == [5]
    assert get_row(job, 5).mended == {"total": "61"}
    assert get_row(job, 3).mended == {"quantity": "2 cu yd"}
    (question,) = clients["owner"].get(url).context["questions"]
    clients["owner"].post(url, {"meant": f"{question.key}:0"})
    run(entries, get_job(build, job.pk))
    assert [row[3] for row in lines(build)] == [
        "3 cu yd", "2 cu yd", "1.5 cu yd", "120 @ 8 in x 8 in x 16 in", "2 cu yd",
    ]  # fmt: skip
    gravel = build.components.get(name="Gravel")
    assert gravel.unit == "cu yd"


def test_one_row_can_be_answered_alone(entries, build, clients):
    job = check(entries, table(("Gravel", "3 yards"), ("Gravel", "2 yards")), source="salvage")
    url = reverse("import_rows", args=[build.pk, job.pk])
    clients["owner"].post(url, {"r2-quantity": "3 cu yd"})
    assert [number for number, *_ in faults(get_job(build, job.pk))] == [3]


def test_a_unit_column_is_asked_about_too(entries, build, clients):
    data = as_text([["Date", "Item", "Qty", "Unit", "Cost"], [DAY, "Gravel", "3", "yards", "60"]])
    job = check(entries, data, source="salvage")
    url = reverse("import_rows", args=[build.pk, job.pk])
    (question,) = clients["owner"].get(url).context["questions"]
    clients["owner"].post(url, {"meant": f"{question.key}:0"})
    run(entries, get_job(build, job.pk))
    assert [row[3] for row in lines(build)] == ["3 cu yd"]


def test_what_a_build_needs_is_asked_about_too(entries):
    data = as_text([["Component", "Needed", "Unit"], ["Gravel", "3 yards", ""]])
    job = check(entries, data)
    assert job.kind == "components"
    assert "3 cu yd or 3 linear yards" in faults(job)[0][2]


def test_what_is_refused_offers_its_readings_too(entries, build, clients):
    rows = [("Boards", "40 2x8x12"), ("Joists", "12 2x8x12")]
    job = check(entries, table(*rows), source="salvage")
    url = reverse("import_rows", args=[build.pk, job.pk])
    (question,) = clients["owner"].get(url).context["questions"]
    assert (question.offers, question.rows) == (["40 @ 2x8x12"], [2, 3])
    clients["owner"].post(url, {"meant": f"{question.key}:0"})
    assert faults(get_job(build, job.pk)) == []


@pytest.mark.parametrize("sent", ["", "x", "x:0", "{}:9", "{}:-1", "{}:x", "{}"])
def test_an_answer_to_no_question_changes_nothing(sent, entries, build, clients):
    job = check(entries, table(("Gravel", "3 yards")), source="salvage")
    url = reverse("import_rows", args=[build.pk, job.pk])
    key = clients["owner"].get(url).context["questions"][0].key
    assert clients["owner"].post(url, {"meant": sent.format(key)}).status_code == 302
    assert len(faults(get_job(build, job.pk))) == 1
