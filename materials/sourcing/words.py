"""A sourcing plan in words: what is taken of an offer, why, and at what price that turns."""

from collections.abc import Iterable
from fractions import Fraction

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from ..calc.types import Key
from ..templatetags.figures import hours, money_text, quantity, rate_text
from .calc.costs import is_taken
from .calc.program import haulage_of
from .calc.sensitivity import Side, Turn
from .calc.types import Aim, Need, Plan, Problem, Question
from .queries.offers import Ware
from .queries.plan import Desk, KnownRecipe

Words = SafeString | str


class Teller:
    """Words about one answer."""

    def __init__(self, desk: Desk, problem: Problem, question: Question, currency: str):
        self.desk, self.problem, self.question, self.currency = desk, problem, question, currency
        self.needs: dict[Key, Need] = {need.component: need for need in problem.needs}
        self.recipes = {known.code: known for known in desk.recipes}

    def money(self, amount: Fraction | int) -> str:
        """An amount."""
        return money_text(amount, self.currency)

    def worth(self, amount: Fraction) -> str:
        """An amount of what was to be kept low."""
        return hours(amount) if self.question.aim is Aim.HOURS else self.money(amount)

    def more(self, amount: Fraction) -> str:
        """How much more of it there would be."""
        weighed = " in money and hours" if self.question.aim is Aim.BOTH else ""
        return f"{self.worth(amount)} more{weighed}"

    def ware(self, ware: Ware) -> str:
        """What can be taken."""
        if not ware.is_lot:
            return ware.lines[0].component.name
        things = ", ".join(f"{line.quantity_text} {line.component.name}" for line in ware.lines)
        return f"The lot: {things}"

    def taken(self, ware: Ware, steps: int) -> Words:
        """How much of it is taken."""
        if ware.base is None:
            return "the whole lot"
        unit = ware.lines[0].component.unit
        much = quantity(ware.base * steps, unit)
        if steps == ware.part.most:
            return format_html("all {}", much) if ware.base * steps != 1 else much
        return format_html("{} of {}", much, quantity(ware.base * ware.part.most, unit))

    def need(self, key: Key, amount: Fraction) -> Words:
        """A quantity of a component, with its name."""
        need = self.needs[key]
        return format_html("{} {}", quantity(amount, need.unit), need.name)

    def bought(self, need: Need, steps: int) -> Words:
        """How much new material is bought."""
        if need.new is None:
            return ""
        return quantity(steps * need.new.size, need.new.unit)

    def made(self, known: KnownRecipe, steps: int) -> Words:
        """What is worked up, and into what."""
        recipe = known.recipe
        pairs = []
        for out, (name, unit) in zip(recipe.makes, known.makes, strict=True):
            got = out.quantity * steps
            pairs.append((quantity(Fraction(got // 1) if out.is_counted else got, unit), name))
        return format_html(
            "{} {} into {}",
            quantity(recipe.uses * steps, known.source_unit),
            known.source,
            format_html_join(" and ", "{} {}", pairs),
        )

    def recipe(self, known: KnownRecipe) -> Words:
        """A conversion, as it came out so far."""
        recipe, times = known.recipe, known.times
        made = format_html_join(
            " and ",
            "{} {}",
            (
                (quantity(out.quantity * times, unit), name)
                for out, (name, unit) in zip(recipe.makes, known.makes, strict=True)
            ),
        )
        extra = f" and {self.money(recipe.extra * times)} extra" if recipe.extra else ""
        return format_html(
            "{} {} made {} so far, for {}{}",
            quantity(recipe.uses * times, known.source_unit),
            known.source,
            made,
            hours(recipe.hours * times) if recipe.hours else "no hours",
            extra,
        )

    def over(self, plan: Plan) -> list[Words]:
        """What comes in beyond the need, and what it would cost new."""
        told: list[Words] = []
        for key, amount in plan.over.items():
            new = self.needs[key].new
            worth = (
                "with no new price to say what it is worth"
                if new is None
                else f"worth {self.money(amount * new.price / new.does)} new"
            )
            told.append(format_html("{}, {}", self.need(key, amount), worth))
        return told

    def why(self, side: Side, plan: Plan, ware: Ware) -> Words:
        """Why a part is in or out."""
        if side.other is None or side.more is None:
            if side.is_in:
                return "Nothing else known meets the need within the limits."
            return "With it, no plan keeps the limits."
        word = "take" if self.question.aim is Aim.HOURS else "cost"
        first = "less money" if self.question.aim is Aim.HOURS else "fewer hours"
        same = f"{word} the same; {first}, fewer journeys and fewer things go first"
        if side.is_in:
            start = f"Leaving it out would {self._than(word, side.more, same)}."
            return format_html("{}{}", start, self._instead(plan, side.other))
        start = f"Taking it would {self._than(word, side.more, same)}"
        since = self._since(plan, side.other, ware)
        return format_html("{}, since {}.", start, since) if since else f"{start}."

    def _than(self, word: str, more: Fraction, same: str) -> str:
        """What changing sides would do: ``same`` where it is no more."""
        return f"{word} {self.more(more)}" if more else same

    def _since(self, plan: Plan, other: Plan, ware: Ware) -> Words:
        """What weighs against a part that is out."""
        told: list[Words] = []
        offer = next(o for o in self.problem.offers if o.key == ware.purchase.pk)
        haulage = Fraction(haulage_of(offer, self.problem.places), 10**self.problem.places)
        if haulage and not is_taken(offer, plan.takes):
            much = self._fetched(offer.key, other)
            told.append(format_html("its haulage of {} falls on {}", self.money(haulage), much))
        if self.question.aim is not Aim.MONEY and offer.hours and not is_taken(offer, plan.takes):
            told.append(f"it takes {hours(offer.hours)}")
        for key, _ in ware.part.brings:
            more = other.over.get(key, Fraction(0))
            if more > plan.over.get(key, Fraction(0)):
                told.append(format_html("{} would be more than needed", self.need(key, more)))
        return _listed(told)

    def _fetched(self, key: Key, plan: Plan) -> Words:
        wares = [ware for ware in self.desk.wares.values() if ware.purchase.pk == key]
        taken = [ware for ware in wares if ware.part.key in plan.takes]
        if len(taken) != 1 or taken[0].is_lot:
            return "this alone" if len(taken) < 2 else "what is fetched with it"
        ware = taken[0]
        much = ware.base * plan.takes[ware.part.key] if ware.base else Fraction(0)
        return format_html("{} alone", quantity(much, ware.lines[0].component.unit))

    def _instead(self, plan: Plan, other: Plan) -> Words:
        """What comes in place of a part that is in, as sentences that go on."""
        bought = [
            format_html("{} {}", self.bought(self.needs[key], more), self.needs[key].name)
            for key, steps in other.new.items()
            if (more := steps - plan.new.get(key, 0)) > 0
        ]
        taken = [
            f"{self.ware(self.desk.wares[key])} ({self.desk.wares[key].purchase.number})"
            for key, steps in other.takes.items()
            if steps > plan.takes.get(key, 0)
        ]
        made = [
            f"{name} out of {self.recipes[str(key)].source}"
            for key, steps in other.made.items()
            if steps > plan.made.get(key, 0)
            for name, _ in self.recipes[str(key)].makes
        ]
        told = (("Bought new", bought), ("Taken", taken), ("Made", made))
        return format_html_join(
            "", " {} instead: {}.", ((how, _listed(what)) for how, what in told if what)
        )

    def turn(self, side: Side, ware: Ware) -> Words:
        """At what price it changes sides."""
        if side.turn is Turn.NEVER:
            return "none: not even free"
        if side.turn is Turn.ALWAYS:
            return "none: at any price"
        if side.turn is Turn.UNKNOWN or side.price is None:
            asked = self.question.aim is Aim.HOURS
            return "hours decide, not its price" if asked else "no time was left"
        price = f"{rate_text(side.price, self.currency)} {ware.price_words}"
        shift = side.price - ware.part.tiers[0][1]
        if len(ware.part.tiers) == 1 or not shift:
            return price
        way = "higher" if shift >= 0 else "lower"
        amount = self.money(abs(shift))
        return f"{price}, each price {amount} {way}"

    def now(self, ware: Ware) -> str:
        """What it is offered at."""
        price = f"now {rate_text(ware.part.tiers[0][1], self.currency)} {ware.price_words}"
        return price if len(ware.part.tiers) == 1 else f"{price}, the first of its prices"


def _listed(told: Iterable[Words], most: int = 4) -> Words:
    """Up to some of them, and how many more there are."""
    parts = list(told)
    rest = len(parts) - most
    if rest > 1:
        parts = [*parts[:most], f"{rest} other things"]
    return format_html_join(", ", "{}", ((part,) for part in parts))
