"""A sourcing plan in words: what is taken of an offer, why, and at what price that changes."""

from collections.abc import Iterable, Mapping
from fractions import Fraction

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from ..calc.supply.costs import is_taken
from ..calc.supply.pieces import Pieces
from ..calc.supply.program import haulage_of
from ..calc.supply.types import TRACE, Aim, Need, Plan, Problem, Question
from ..calc.types import Key
from ..models import Component
from ..queries.ways import KnownWay
from ..templatetags.figures import hours, money_text, quantity, rate_text
from ..views.way_words import made_words, way_words
from .calc.sensitivity import BreakEven, Sensitivity
from .queries.offers import OfferItem
from .queries.plan import SourcingInputs

Words = SafeString | str


class PlanWords:
    """Words about one answer."""

    def __init__(self, inputs: SourcingInputs, problem: Problem, question: Question, currency: str):
        self.inputs, self.problem, self.question, self.currency = (
            inputs,
            problem,
            question,
            currency,
        )
        self.needs: dict[Key, Need] = {need.component: need for need in problem.needs}
        self.ways = {known.code: known for known in inputs.ways}

    def money(self, amount: Fraction | int) -> str:
        """An amount."""
        return money_text(amount, self.currency)

    def objective(self, amount: Fraction) -> str:
        """An amount of what was to be kept low."""
        return hours(amount) if self.question.aim is Aim.HOURS else self.money(amount)

    def more(self, amount: Fraction) -> str:
        """How much more of it there would be."""
        weighed = " in money and hours" if self.question.aim is Aim.BOTH else ""
        return f"{self.objective(amount)} more{weighed}"

    def item(self, item: OfferItem) -> str:
        """What can be taken."""
        if not item.is_lot:
            return item.lines[0].component.name
        things = ", ".join(f"{line.quantity_text} {line.component.name}" for line in item.lines)
        return f"The lot: {things}"

    def taken(self, item: OfferItem, steps: int) -> Words:
        """How much of it is taken."""
        if item.base is None:
            return "the whole lot"
        unit = item.lines[0].component.unit
        much = quantity(item.base * steps, unit)
        if steps == item.part.most:
            return format_html("all {}", much) if item.base * steps != 1 else much
        return format_html("{} of {}", much, quantity(item.base * item.part.most, unit))

    def need(self, key: Key, amount: Fraction) -> Words:
        """A quantity of a component, with its name."""
        need = self.needs[key]
        return format_html("{} {}", quantity(amount, need.unit), need.name)

    def bought(self, need: Need, steps: int) -> Words:
        """How much new material is bought."""
        if need.new is None:
            return ""
        return quantity(steps * need.new.size, need.new.unit)

    def made(self, known: KnownWay, steps: int) -> Words:
        """What is worked up, and into what."""
        used = known.step * steps
        return format_html(
            "{} {} into {}",
            quantity(used, known.source.unit),
            known.source.name,
            made_words(known, used),
        )

    def piece(self, part: Component, pieces: Mapping[Key, Pieces]) -> Words:
        """What one of what is made comes to, beside one new."""
        found, new = pieces.get(part.pk), self.needs[part.pk].new
        one = None if found is None else found.known_made
        if one is None:
            return f"Cost of one {part.name}: not known"
        price = rate_text(one, self.currency)
        if new is None:
            return f"One {part.name} comes to {price}; it has no new price"
        bought = rate_text(new.price / new.covers, self.currency)
        return f"One {part.name} comes to {price}, new {bought}"

    def recipe(self, known: KnownWay) -> Words:
        """A way to make something, as it came out so far or is stated."""
        return way_words(known, self.currency)

    def over(self, plan: Plan) -> list[Words]:
        """What comes in beyond the need, and what it would cost new."""
        sentences: list[Words] = []
        for key, amount in plan.over.items():
            if amount < TRACE:
                continue
            new = self.needs[key].new
            worth = (
                "with no new price to say what it is worth"
                if new is None
                else f"worth {self.money(amount * new.price / new.covers)} new"
            )
            sentences.append(format_html("{}, {}", self.need(key, amount), worth))
        return sentences

    def why(self, sensitivity: Sensitivity, plan: Plan, item: OfferItem) -> Words:
        """Why a part is in or out."""
        if sensitivity.other is None or sensitivity.more is None:
            if sensitivity.is_in:
                return "Nothing else meets the need within the limits."
            return "With it, no plan stays within the limits."
        word = "take" if self.question.aim is Aim.HOURS else "cost"
        first = "less money" if self.question.aim is Aim.HOURS else "fewer hours"
        same = f"{word} the same; {first}, then fewer trips and fewer things decide"
        if sensitivity.is_in:
            start = f"Leaving it out would {self._than(word, sensitivity.more, same)}."
            return format_html("{}{}", start, self._instead(plan, sensitivity.other))
        start = f"Taking it would {self._than(word, sensitivity.more, same)}"
        since = self._since(plan, sensitivity.other, item)
        return format_html("{}, since {}.", start, since) if since else f"{start}."

    def _than(self, word: str, more: Fraction, same: str) -> str:
        """What putting it in or out would do: ``same`` where it is no more."""
        return f"{word} {self.more(more)}" if more else same

    def _since(self, plan: Plan, other: Plan, item: OfferItem) -> Words:
        """What weighs against a part that is out."""
        sentences: list[Words] = []
        offer = next(o for o in self.problem.offers if o.key == item.purchase.pk)
        haulage = Fraction(haulage_of(offer, self.problem.places), 10**self.problem.places)
        if haulage and not is_taken(offer, plan.takes):
            much = self._fetched(offer.key, other)
            sentences.append(
                format_html("its haulage of {} is carried by {}", self.money(haulage), much)
            )
        if self.question.aim is not Aim.MONEY and offer.hours and not is_taken(offer, plan.takes):
            sentences.append(f"it takes {hours(offer.hours)}")
        for key, _ in item.part.brings:
            more = other.over.get(key, Fraction(0))
            if more > plan.over.get(key, Fraction(0)):
                sentences.append(format_html("{} would be more than needed", self.need(key, more)))
        return _listed(sentences)

    def _fetched(self, key: Key, plan: Plan) -> Words:
        items = [item for item in self.inputs.items.values() if item.purchase.pk == key]
        taken = [item for item in items if item.part.key in plan.takes]
        if len(taken) != 1 or taken[0].is_lot:
            return "this alone" if len(taken) < 2 else "what is fetched with it"
        item = taken[0]
        much = item.base * plan.takes[item.part.key] if item.base else Fraction(0)
        return format_html("{} alone", quantity(much, item.lines[0].component.unit))

    def _instead(self, plan: Plan, other: Plan) -> Words:
        """What comes in place of a part that is in, as sentences that go on."""
        bought = [
            format_html("{} {}", self.bought(self.needs[key], more), self.needs[key].name)
            for key, steps in other.new.items()
            if (more := steps - plan.new.get(key, 0)) > 0
        ]
        taken = [
            f"{self.item(self.inputs.items[key])} ({self.inputs.items[key].purchase.number})"
            for key, steps in other.takes.items()
            if steps > plan.takes.get(key, 0)
        ]
        made = [
            f"{part.name} out of {self.ways[str(key)].source.name}"
            for key, steps in other.made.items()
            if steps > plan.made.get(key, 0)
            for part in self.ways[str(key)].makes
        ]
        listed = (("Bought new", bought), ("Taken", taken), ("Made", made))
        return format_html_join(
            "", " {} instead: {}.", ((how, _listed(what)) for how, what in listed if what)
        )

    def break_even(self, sensitivity: Sensitivity, item: OfferItem) -> Words:
        """At what price it goes in or out."""
        if sensitivity.break_even is BreakEven.NEVER:
            return "none: not even free"
        if sensitivity.break_even is BreakEven.ALWAYS:
            return "none: at any price"
        if sensitivity.break_even is BreakEven.UNKNOWN or sensitivity.price is None:
            asked = self.question.aim is Aim.HOURS
            return "hours decide, not its price" if asked else "time ran out"
        price = f"{rate_text(sensitivity.price, self.currency)} {item.price_words}"
        shift = sensitivity.price - item.part.tiers[0][1]
        if len(item.part.tiers) == 1 or not shift:
            return price
        way = "higher" if shift >= 0 else "lower"
        amount = self.money(abs(shift))
        return f"{price}, each price {amount} {way}"

    def now(self, item: OfferItem) -> str:
        """What it is offered at."""
        price = f"now {rate_text(item.part.tiers[0][1], self.currency)} {item.price_words}"
        return price if len(item.part.tiers) == 1 else f"{price}, the first of its prices"


def _listed(things: Iterable[Words], most: int = 4) -> Words:
    """Up to some of them, and how many more there are."""
    parts = list(things)
    rest = len(parts) - most
    if rest > 1:
        parts = [*parts[:most], f"{rest} other things"]
    return format_html_join(", ", "{}", ((part,) for part in parts))
