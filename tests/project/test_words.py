"""Every string that a person can read, against the glossary and the rules of wording."""

import re

import pytest

from tests.project.readability import grade, negatives, syllables, words
from tests.project.strings import Text, of_app, of_python, of_template

# Longest sentence, in words; and the highest school grade that one may ask for.
MOST_WORDS, MOST_GRADE = 20, 10.0

# What is not said here, and what is said for it. Column names of workbooks are a format.
NOT_SAID = {
    r"\bmend(ed|s|ing)?\b": "fix",
    r"\breckon": "calculate, count",
    r"\btake it along\b": "Export",
    r"\bplan and pace\b": "Hours against plan",
    r"\bwhat lasts\b": "lifetime cost",
    r"\bshow only some\b": "Filter",
    r"\bnote (left over|money|new|as|what)\b": "add, record",
    r"\bhand(ed|s)? (it |money |ownership |the ownership )?over\b": "payment, pass on",
    r"\bhand-over\b": "transfer",
    r"\bfewer transfers cannot\b": "These are the fewest payments possible",
    r"\bworkbook of this app\b": "Exported from here",
    r"\blook at it\b": "Preview",
    r"\bcells not apart\b": "columns run together",
    r"\bwhich comes first\b": "Is 4/3 the 4th of March or April 3?",
    r"\bmarks decimals\b": "decimal separator",
    r"\bchosen already: look\b": "We guessed",
    r"\bcan follow later\b": "You can fix these later",
    r"\bworked out here\b": "to see the cost",
    r"\bdearer than new\b|\beverything landed\b": "costs more than new, delivered",
    r"\bcounts in no figure\b": "not counted in the build's totals",
    r"\bmay not reach\b": "may not be enough",
    r"\bfrom the elements to\b": "How spending adds up",
    r"\bused up silently\b": "never spent unless you say so",
    r"\bthe other serves\b": "the other is used",
    r"^x on x of the cost$": "that has a new price",
    r"\bstep of the currency\b": "",
    r"\bhang on (its|the) price\b": "fixed charges",
    r"\byours to be promised\b|\ball of them lucky\b": "your hours may differ",
    r"\bof it rests on stated\b": "No measured quantities yet",
    r"\bno clearance\b": "Advice only. No warning does not mean safe.",
    r"\bh past\b": "h over plan",
    r"\bis too large: it must\b|\bthe hours is\b": "enter 24 hours or less",
    r"\ball its sessions\b": "signed out everywhere",
    r"\bin hand\b": "received",
    r"\bheap(s|ed)?\b": "on hand",
    r"\bleft over\b": "leftovers",
    r"\bprice to beat\b": "new price",
    r"^(against )?(bought|buying) new$": "Retail equivalent",
    r"\bwhat (it|the same) would have cost\b": "retail equivalent",
    r"\b(turning price|turns? at|it turns)\b": "break-even",
    r"\bwhole lot of things\b": "mixed lot",
    r"\byour part\b|\bchange part\b|\ba part in it\b": "role",
    r"\bput away\b": "archive",
    r"\bread (in )?(a |the )?workbook( in)?\b|\bbr(ing|ought) in\b": "import",
    r"^its history\b": "History",
    r"\bbegin it\b|\bbegin (a|one)\b|\bbegun\b": "start",
    r"\bas reprinted\b|\bfrom memory\b|\bnot read in\b|\bsaid to be alike\b": "(in code only)",
    r"\bjourney": "trip",
    r"\d %|\bx %(?! [÷×])": "closed up: 45%",
}
# Names of sheets and columns of the workbook, and of kinds in the history: a format.
FORMAT = {
    "Left over", "Units left over", "Handed over", "Heaped as", "left over", "hand over",
    "hand-over", "Bought new", "bought new", "(x %)",
}  # fmt: skip
# What must be said in these words.
RIGHT = {"No warning does not mean safe."}


def named(text: Text) -> str:
    """A text with its place, for a list of what is wrong."""
    return f"{text.where}: {text.text}"


def refused(texts: list[Text]) -> list[str]:
    """What is said that should be said otherwise."""
    return [
        f"{named(text)}\n    say: {instead}"
        for text in texts
        for pattern, instead in NOT_SAID.items()
        if text.text not in FORMAT and re.search(pattern, text.text, re.I)
    ]


def hard(texts: list[Text]) -> list[str]:
    """Sentences of six words or more that are hard to read, and why."""
    wrong = []
    for text in texts:
        for sentence in text.sentences:
            count = len(words(sentence))
            if count < 6 or sentence in RIGHT:
                continue
            if count > MOST_WORDS:
                wrong.append(f"{text.where}: {count} words: {sentence}")
            elif (years := grade(sentence)) > MOST_GRADE:
                wrong.append(f"{text.where}: grade {years:.1f}: {sentence}")
            clauses = re.split(r"[,;:–]|\b(?:and|or|but)\b", sentence)
            if any(negatives(clause) > 1 for clause in clauses):
                wrong.append(f"{text.where}: says no twice: {sentence}")
    return wrong


@pytest.fixture(scope="module")
def texts():
    """All strings of the app."""
    found = list(of_app())
    assert len(found) > 4000
    return found


def test_the_words_of_the_glossary_are_used(texts):
    assert not (wrong := refused(texts)), "\n".join(wrong)


def test_every_sentence_is_easy_to_read(texts):
    assert not (wrong := hard(texts)), "\n".join(wrong)


# What people wrote here once, and what is wrong with it.
HARD = {
    "Nothing that is not stated can be counted here by anybody at all.": "says no twice",
    "Administrative documentation necessitates considerable organizational deliberation.": "grade",
    "A long one goes on and on from the yard to the barn and from the barn to the shed and back.": (
        "22 words"
    ),
}


@pytest.mark.parametrize(("sentence", "why"), HARD.items())
def test_a_hard_sentence_is_found_wherever_it_stands(sentence, why):
    of_form = of_python(f'help_text = "{sentence}"\n', "forms.py")
    of_page = of_template(f'<p class="intro"><b>{sentence}</b> Short.</p>', "page.html")
    for found in (hard(list(of_form)), hard(list(of_page))):
        assert len(found) == 1
        assert why in found[0]


def test_a_word_of_the_left_column_is_found_wherever_it_stands():
    for text in (
        *of_python('raise LedgerError(f"Row {number} is to be mended.")', "services.py"),
        *of_template('<a href="#">Look at it</a>', "page.html"),
        *of_template('{% include "x.html" with fault_title="Not sent: mend this" %}', "page.html"),
        *of_template('<td data-label="Price to beat">{{ x }}</td>', "page.html"),
    ):
        assert refused([text]), text


def test_plain_sentences_pass_and_are_counted_as_they_are_read():
    plain = [Text("here", "Enter a quantity with its unit, like 20 gal. Unknown is left out.")]
    assert not refused(plain)
    assert not hard(plain)
    counted = {"haulage": 2, "delivered": 3, "board": 1, "received": 2, "offer": 2, "mixed": 1}
    assert {word: syllables(word) for word in counted} == counted
