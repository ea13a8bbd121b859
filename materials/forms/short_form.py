"""The short form: one line of one purchase, typed in a yard."""

from decimal import Decimal
from typing import Any

from django import forms

from ..calc.price_text import EACH as EACH_WORD
from ..calc.price_text import ESTIMATE, PriceWords
from ..calc.quantities import ContentsMissingError, QuantityError
from ..calc.safety.cautions import TRAIT_LABELS, Trait
from ..choices import ObtainedBy, Source, State
from ..models import Component, Purchase
from ..models.stated import stated_values
from ..queries.builds import list_persons
from ..queries.components import contents_typed, find_component, list_components
from ..queries.days import NOT_YET_CONVERTED
from ..queries.drafts import CHARGED, EACH, FREE, LINE, LOT, of_purchase
from ..queries.price_book import distance_in
from ..queries.quantities import (
    base_quantity,
    contents_of,
    one_of,
    parsed,
    price_per,
    priced_units,
)
from ..queries.suppliers import list_supplier_names
from .base import NOTE, optional_choices
from .deadlines import check_deadlines, ends_on, ends_time, fetch_on, fetch_time, name_zone
from .fields import (
    ContentsText,
    DayField,
    HoursInput,
    MoneyInput,
    OriginYear,
    PercentInput,
    QuantityText,
    ReadingsError,
    SuggestInput,
    TypedField,
    UnitPriceField,
)
from .photos import FormWithPhotos, camera_field
from .prices import PriceText, mark_estimate, per_text_of, refuse_dollars, refuse_length
from .purchases import refuse_early
from .quantities import ask_which, offer_unit, offer_units
from .rows import rows_of
from .stock import OutputForm

# What an offer is judged by; folded away for what is bought already.
OFFERED = ("new_price", "new_per_text", *CHARGED, "expected_hours", "ends_on", "ends_time")
# What is asked first; all else is folded away.
_FIRST = (
    "what",
    "quantity_text",
    "contents",
    "price",
    "price_for",
    "source",
    "supplier",
    "photo",
)
# Asked beside the rows of what was made of it at once.
MADE = ("made_used", "made_on", "made_hours", "made_extra")
# The few that no name tells, and that most matter.
_TICKS = (Trait.LOAD_BEARING, Trait.PAINTED, Trait.UNPAINTED, Trait.UNGRADED)


class LogForm(FormWithPhotos):
    """What was got, how much, for what price, from where."""

    what = forms.CharField(
        max_length=120, label="What", help_text="Pick one or type something new."
    )
    quantity_text = QuantityText(
        label="How much", help_text="As you would write it, like 16 @ 2x8x12, 20 gal, 3 bundles."
    )
    contents = ContentsText(
        required=False,
        label="Contents",
        help_text="Like 1 piece = 12 ft. Then you can type other units too.",
    )
    price = PriceText(
        required=False,
        label="Price",
        help_text="Like 12.50, 1.20 each or 8/sheet. Empty is not known.",
    )
    price_for = forms.ChoiceField(
        label="The price is for",
        choices=[
            (EACH, "One of them"),
            (LINE, "All of it"),
            (LOT, "Mixed lot"),
            (FREE, "It is free"),
        ],
        initial=EACH,
        widget=forms.RadioSelect,
    )
    source = forms.ChoiceField(choices=Source.choices, label="Source", widget=forms.RadioSelect)
    supplier = forms.CharField(max_length=120, required=False, label="Where")
    photo = camera_field(
        label="Photo", help_text="Of the receipt or the pile. You can add more later."
    )
    new_price = UnitPriceField(
        required=False,
        label="What it costs new",
        help_text="Before tax. Saved as its new price of that day.",
    )
    new_per_text = TypedField(
        required=False,
        max_length=60,
        label="New, per",
        help_text="Like gal or 100 sq ft. If empty: for one of them.",
    )
    state = forms.ChoiceField(choices=State.choices, initial=State.RECEIVED, label="State")
    bought_on = DayField(label="Date")
    paid_by = forms.CharField(max_length=80, required=False, label="Paid by")
    usable_percent = PercentInput(required=False, label="Usable, %", what="The usable share")
    distance_text = forms.CharField(
        max_length=60, required=False, label="Miles there and back", help_text="Like 84 mi."
    )
    haulage_amount = MoneyInput(required=False, label="Haulage, amount")
    premium_percent = PercentInput(required=False, label="Buyer's premium, %")
    tax_percent = PercentInput(required=False, label="Sales tax, %")
    expected_hours = HoursInput(
        required=False,
        label="Hours it will take",
        help_text="To fetch and prepare it, if this is an offer.",
    )
    ends_on, ends_time = ends_on(), ends_time()
    fetch_on, fetch_time = fetch_on(), fetch_time()
    obtained_by = forms.ChoiceField(
        choices=optional_choices(ObtainedBy.choices, "—"), required=False, label="Obtained by"
    )
    origin_year = OriginYear(required=False)
    through_fire = forms.BooleanField(required=False, label="It has been through a fire")
    traits = forms.MultipleChoiceField(
        choices=[(trait.value, TRAIT_LABELS[trait]) for trait in _TICKS],
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="What it is, for the cautions",
        help_text="Kept with the component.",
        error_messages={"invalid_choice": "Tick what is true of it, from the list."},
    )
    note = forms.CharField(**NOTE)
    made_used = QuantityText(
        required=False,
        label="Used up for it",
        help_text="With what was spoilt. If empty: all of it that is usable.",
    )
    made_on = DayField(
        required=False,
        label="Made on",
        help_text="If empty: today.",
        not_yet=NOT_YET_CONVERTED,
    )
    made_hours = HoursInput(
        required=False, label="Hours of making", help_text="Counted as preparing."
    )
    made_extra = MoneyInput(
        required=False, label="Extra cost of making", help_text="Blades, mill fee, glue …"
    )

    looked_at = "understood"
    # Set by what was typed: words of the price, and whether contents would let it be converted.
    price_words: PriceWords | None = None
    wants_contents = False

    def __init__(self, *args: Any, into: Purchase | None = None, **kwargs: Any):
        self.into = into
        super().__init__(*args, **kwargs)
        if into is not None:
            # The purchase has these already.
            for name in (*of_purchase(self.base_fields), *CHARGED):
                del self.fields[name]
            self.fields["price_for"].choices = [
                (EACH, "One of them"),
                (LINE, "All of it"),
                (LOT, "It is in the lot's price"),
                (FREE, "It is free"),
            ]

    @property
    def is_offer(self) -> bool:
        """Whether an offer is judged, and not something bought."""
        state = self.into.state if self.into is not None else self["state"].value()
        return state == State.OFFER

    @property
    def folded(self) -> tuple[str, ...]:
        """Names of the fields kept folded away."""
        seen = (*_FIRST, *OFFERED, *MADE) if self.is_offer else (*_FIRST, *MADE)
        return tuple(name for name in self.base_fields if name not in seen)

    @property
    def has_folded_fault(self) -> bool:
        """Whether something of what is folded away is refused."""
        return any(name in self.errors for name in self.folded)

    @property
    def made_names(self) -> tuple[str, ...]:
        """Names of the fields asked beside what was made of it."""
        return MADE

    @property
    def has_made_fault(self) -> bool:
        """Whether one of those is refused or filled in."""
        return any(name in self.errors or self[name].value() for name in MADE)

    def set_choices(self) -> None:
        names = list_components(self.build).values_list("name", flat=True)
        suppliers = list_supplier_names(self.build).values_list("name", flat=True)
        persons = list_persons(self.build).values_list("name", flat=True)
        self.fields["what"].widget = SuggestInput(names)
        self.fields["supplier"].widget = SuggestInput(suppliers)
        self.fields["paid_by"].widget = SuggestInput(persons)
        name_zone(self, self.build)

    def clean_usable_percent(self) -> Decimal:
        value = self.cleaned_data["usable_percent"]
        return Decimal(100) if value is None else value

    def clean_distance_text(self) -> str:
        text = self.cleaned_data["distance_text"]
        if text:
            try:
                distance_in(text, self.build.distance_unit)
            except QuantityError as error:
                raise ReadingsError(error) from None
        return text

    def clean_price(self) -> Decimal | None:
        typed = self.cleaned_data["price"]
        if typed is None:
            return None
        amount, self.price_words = typed
        refuse_dollars(self.price_words, self.build)
        return amount

    @property
    def price_notes(self) -> list[str]:
        """What the words beside the price were understood as."""
        words = self.price_words
        if words is None:
            return []
        per = f"one {words.per}"
        if words.per == EACH_WORD or words.per.isdigit():
            stated = self.cleaned_data.get("price_per_text", "")
            per = f"one {stated}" if stated == "piece" else stated or self._one_typed()
        sentence = f"The price is read as that of {per.replace('one 1', '1')}." if words.per else ""
        total = "The price is read as that of all of it." if words.is_total else ""
        notes = [note for note in (words.note, words.is_estimate and ESTIMATE) if note]
        return [text for text in (sentence, total, *(f"Price: {note}." for note in notes)) if text]

    def _one_typed(self) -> str:
        """One of what was typed; a piece is one of them."""
        unit = parsed(self.cleaned_data["quantity_text"]).unit
        return "one of them" if unit.is_counted else f"one {unit.symbol}"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("price_for") == FREE:
            if cleaned.get("price"):
                self.add_error(
                    "price", "It has a price and is ticked as free: keep one of the two."
                )
            cleaned["price"] = Decimal(0)
        self._take_price_words(cleaned)
        in_lot = self.into is not None and self.into.lot_price_amount is not None
        no_price = cleaned.get("price") is None and "price" not in self.errors
        if in_lot and no_price and cleaned.get("price_for") in (EACH, LINE):
            self.add_error(
                "price",
                "This purchase has one price for its lot. Enter a price of its own here, or"
                " choose “It is in the lot's price”.",
            )
        if cleaned.get("what"):
            cleaned["what"] = " ".join(cleaned["what"].split())
        refuse_early(self, cleaned)
        check_deadlines(self, cleaned, self.build)
        if cleaned.get("what"):
            self._find(cleaned)
        return cleaned

    def _take_price_words(self, cleaned: dict[str, Any]) -> None:
        """“8/sheet” says what the price is for, and so goes before the choice beside it."""
        words = self.price_words
        cleaned["price_per_text"] = per_text_of(words, cleaned.get("quantity_text", ""))
        mark_estimate(words, cleaned)
        if words is not None and words.is_total and cleaned.get("price_for") == EACH:
            cleaned["price_for"] = LINE
        if words is None or not words.per:
            return
        if cleaned.get("price_for") == LOT:
            self.add_error("price", "This is the price of one, and a lot is ticked: keep one.")
        elif cleaned.get("price_for") != FREE:
            cleaned["price_for"] = EACH

    def _find(self, cleaned: dict[str, Any]) -> None:
        """The component named, or a new one counted in the unit that was typed."""
        component = find_component(self.build, cleaned["what"])
        text = cleaned.get("quantity_text")
        if component is None:
            unit = parsed(text).unit.symbol if text else "piece"
            component = Component(build=self.build, name=cleaned["what"], unit=unit)
        if ask_which(self, component, "quantity_text"):
            return
        if not text:
            self._offer_units(component)
            return
        known = stated_values(component)
        ticked = [value for value in cleaned.get("traits", []) if value not in component.traits]
        component.traits = [*component.traits, *ticked]
        cleaned["component"] = component
        field = "contents"
        try:
            if typed := cleaned.get("contents"):
                component.contents = "; ".join(filter(None, (component.contents, typed)))
                contents_of(component)
            cleaned["of_component"] = {
                name: value
                for name, value in stated_values(component).items()
                if value != known[name]
            }
            field = "quantity_text"
            base_quantity(cleaned["quantity_text"], component)
            field = "price"
            cleaned["price_per_text"] = per_text_of(
                self.price_words, cleaned["quantity_text"], component
            )
            refuse_length(self.price_words, cleaned["quantity_text"])
            priced_units(cleaned["quantity_text"], cleaned["price_per_text"], component)
        except forms.ValidationError as error:
            self.add_error(field, error)
        except QuantityError as error:
            self.wants_contents = isinstance(error, ContentsMissingError)
            self.add_error(field, ReadingsError(error))
            if self.wants_contents and component.pk:
                self._offer_contents(cleaned, component)
        self._read_new_price(cleaned, component)

    def _offer_contents(self, cleaned: dict[str, Any], component: Component) -> None:
        """Ask whether each is like those that were typed with their size before."""
        if said := contents_typed(component):
            sentence = f"Earlier it was {said}. If each is like that, keep it here."
            offer = "; ".join(filter(None, (cleaned.get("contents"), said)))
            self.add_error("contents", ReadingsError(QuantityError(sentence, (offer,))))

    def _offer_units(self, component: Component) -> None:
        if component.pk:
            offer_unit(self, component, "quantity_text")
        else:
            is_metric = self.build.distance_unit == "km"
            offer_units(self, component.name, "quantity_text", is_metric=is_metric)

    def _read_new_price(self, cleaned: dict[str, Any], component: Component) -> None:
        """What the new price is for: as stated, or one of what was typed."""
        per = cleaned.get("new_per_text") or ""
        if per and cleaned.get("new_price") is None and "new_price" not in self.errors:
            self.add_error("new_price", f"Enter what it costs new per {per}, or leave both empty.")
        if "quantity_text" in self.errors or "contents" in self.errors:
            return
        if not per and cleaned.get("new_price") is not None:
            per = cleaned["new_per_text"] = one_of(cleaned["quantity_text"], component)
        try:
            price_per(per, component)
        except QuantityError as error:
            self.add_error("new_per_text", str(error))

    @property
    def says_made(self) -> bool:
        """Whether something of how it was made into something is filled in."""
        return any(self.cleaned_data.get(name) not in (None, "") for name in MADE)

    @property
    def is_received(self) -> bool:
        """Whether the material is here, so that something can be made of it."""
        state = self.into.state if self.into is not None else self.cleaned_data.get("state")
        return state == State.RECEIVED


class MadeRows(rows_of(OutputForm)):  # type: ignore[misc]
    """What was made of a line at once; none where nothing was. ``head``: the form of the line."""

    may_be_absent = True
    head: LogForm | None = None

    @property
    def is_filled(self) -> bool:
        """Whether a row says something, or is refused."""
        if self.is_bound and (self.total_error_count() or self.non_form_errors()):
            return True
        return any(form.typed("component", "new_name", "made_text") for form in self.forms)

    def clean(self) -> None:
        super().clean()
        if self.head is None:
            return
        if not self.rows():
            if self.head.says_made:
                raise forms.ValidationError(
                    "Enter what you made of it and how much, or leave all of this empty."
                )
        elif not self.head.is_received:
            raise forms.ValidationError(
                "Only what is here can be made into something: choose Received as its state, or"
                " leave this empty and log it later."
            )
