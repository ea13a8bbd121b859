"""How hard a sentence is to read: its words, its negatives and its school grade.

The grade is Flesch-Kincaid's: 0.39 × words + 11.8 × syllables per word − 15.59 for one sentence
(Kincaid, Fishburne, Rogers and Chissom 1975; from memory). Syllables are groups of vowels,
less a silent e: within a tenth of a dictionary over a text, and no package with word lists of
its own is pinned for one test.
"""

import re

WORD = re.compile(r"[A-Za-z][A-Za-z’'-]*")
VOWELS = re.compile(r"[aeiouy]+")
SILENT = re.compile(r"(?<=[^aeiouyl])e$|(?<=[^aeiouytd])ed$|(?<=[a-z])es$")
NEGATIVE = re.compile(
    r"\b(not|no|nothing|nobody|none|never|neither|cannot|without|[a-z]+n[’']t)\b", re.I
)


def words(sentence: str) -> list[str]:
    """Its words; a number or a placeholder counts as none of its own."""
    return [word for word in WORD.findall(sentence) if word.lower() != "x"]


def syllables(word: str) -> int:
    """Groups of vowels, less a silent e."""
    word = re.sub(r"[^a-z]", "", word.lower())
    count = len(
        VOWELS.findall(re.sub(r"(?<=[^aeiouyl])e$|(?<=[^aeiouytd])ed$|(?<=[a-z])es$", "", word))
    )
    return max(count, 1)


def grade(sentence: str) -> float:
    """Years of school that reading it takes."""
    found = words(sentence)
    return 0.39 * len(found) + 11.8 * sum(map(syllables, found)) / len(found) - 15.59


def negatives(clause: str) -> int:
    """How often it says no."""
    return len(NEGATIVE.findall(clause))
