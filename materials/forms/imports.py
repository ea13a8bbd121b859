"""Forms of an import in steps. What columns can be is handed in: it is known a layer above."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from ..calc.units import unit_choices
from ..choices import LabourKind, Source, State
from .base import TidyForm, optional_choices
from .fields import DayField

MAX_UPLOAD = 50 * 1024 * 1024
MAX_PASTE = 1_500_000
OWN_UNIT = "own"
DAY_ORDERS = [("day", "Day first: 3/4 is 3 April"), ("month", "Month first: 3/4 is 4 March")]
MARKS = [(".", "Point: 1,234 is over a thousand"), (",", "Comma: 1,234 is a little over one")]


class TableUploadForm(forms.Form):
    """A file with a table, or a table pasted from a spreadsheet."""

    table = forms.FileField(
        label="File",
        required=False,
        help_text="A spreadsheet (.xlsx, .ods, .xls) or text (.csv, .tsv), up to 50 MB.",
        error_messages={"empty": "That file is empty. Choose the table itself."},
        widget=forms.FileInput(attrs={"accept": ".xlsx,.xlsm,.ods,.xls,.csv,.tsv,.txt"}),
    )
    pasted = forms.CharField(
        label="Or paste the table",
        required=False,
        max_length=MAX_PASTE,
        strip=False,
        help_text="Select the cells in your spreadsheet with their headings, copy, and paste here.",
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        error_messages={
            "max_length": "That is too much to paste. Save it as a file and choose the file."
        },
    )

    def clean_table(self):
        file = self.cleaned_data["table"]
        if file and file.size > MAX_UPLOAD:
            raise forms.ValidationError("That file is over 50 MB: split it into several.")
        return file

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        has_file, has_paste = bool(cleaned.get("table")), bool(cleaned.get("pasted", "").strip())
        if has_file and has_paste:
            self.add_error("pasted", "Choose a file or paste a table, not both.")
        elif not has_file and not has_paste and not self.errors:
            self.add_error("table", "Choose a file, or paste a table below.")
        return cleaned


class TableForm(forms.Form):
    """Which sheet, which row has the headings, and what the rows are."""

    place = forms.TypedChoiceField(label="Sheet", coerce=int)
    heading_row = forms.IntegerField(
        label="Row with the headings",
        min_value=0,
        max_value=2_000_000,
        help_text="Its number in the first rows above. 0 if there are no headings.",
        error_messages={"required": "Enter the number of the row, or 0 if there is none."},
    )
    kind = forms.ChoiceField(label="What the rows are", widget=forms.RadioSelect)

    def __init__(
        self,
        *args: Any,
        sheets: Sequence[tuple[int, str]],
        kinds: Sequence[tuple[str, str]],
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        self.fields["place"].choices = list(sheets)
        self.fields["kind"].choices = list(kinds)


class TextForm(forms.Form):
    """How the bytes of a text become rows."""

    encoding = forms.ChoiceField(label="Encoding of the text")
    delimiter = forms.ChoiceField(label="Column separator")

    def __init__(
        self,
        *args: Any,
        encodings: Sequence[tuple[str, str]],
        delimiters: Sequence[tuple[str, str]],
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        self.fields["encoding"].choices = list(encodings)
        self.fields["delimiter"].choices = list(delimiters)


class ColumnsForm(TidyForm):
    """What each column is, and what holds for all rows.

    ``columns``: dicts with heading, samples, ``asks_day``, ``asks_mark`` and the sentences of
    evidence; ``fields``: choices of what a column can be; ``shown``: names of the options;
    ``ticks``: labels of what is only ticked, by name; ``currency``: the build's.
    """

    def __init__(
        self,
        *args: Any,
        columns: Sequence[dict[str, Any]],
        fields: Sequence[tuple[str, str]],
        shown: Sequence[str],
        ticks: Mapping[str, str],
        currency: str,
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        self.columns = columns
        choices = optional_choices(fields, "Not read")
        for place, column in enumerate(columns):
            self.fields[f"field_{place}"] = forms.ChoiceField(
                choices=choices, required=False, label="This column is"
            )
            if column["asks_day"]:
                self.fields[f"day_{place}"] = _question(
                    "Is 4/3 the 4th of March or April 3?", DAY_ORDERS, column["asks_day"]
                )
            if column["asks_mark"]:
                self.fields[f"mark_{place}"] = _question(
                    "Decimal separator", MARKS, column["asks_mark"]
                )
            if column["asks_money"]:
                self.fields[f"money_{place}"] = _question(
                    "Which currency are these amounts in?",
                    [
                        ("build", f"{currency}, with another sign"),
                        ("other", "Another currency: I will fix those rows"),
                    ],
                    column["asks_money"],
                )
            for n, word in enumerate(column.get("unit_words", ())):
                self.fields[f"unitword_{place}_{n}"] = forms.ChoiceField(
                    choices=[("", "Not stated: I will fix those rows"), *unit_choices()],
                    required=False,
                    label=f"“{word}” means",
                )
        for name, field in _options().items():
            if name in shown:
                self.fields[name] = field
        for name, label in ticks.items():
            self.fields[name] = forms.BooleanField(label=label, required=False)
        self.shown = [*ticks, *(name for name in _options() if name in shown)]

    def column_groups(self) -> list[tuple[dict[str, Any], list[Any]]]:
        """Each column with its bound fields."""
        return [
            (
                column,
                [
                    self[f"{name}_{place}"]
                    for name in ("field", "day", "mark", "money")
                    if f"{name}_{place}" in self.fields
                ]
                + [self[name] for name in self.fields if name.startswith(f"unitword_{place}_")],
            )
            for place, column in enumerate(self.columns)
        ]

    def option_fields(self) -> list[Any]:
        """The bound options."""
        return [self[name] for name in self.shown]

    def mapping(self, before: dict[str, Any]) -> dict[str, Any]:
        """The mapping as it is kept; what was not asked stays as it was."""
        cleaned = self.cleaned_data
        columns = []
        for place, old in enumerate(before["columns"]):
            said = {**old, "field": cleaned.get(f"field_{place}", "")}
            if cleaned.get(f"day_{place}"):
                said["day_first"] = cleaned[f"day_{place}"] == "day"
            if cleaned.get(f"mark_{place}"):
                said["mark"] = cleaned[f"mark_{place}"]
            if cleaned.get(f"money_{place}"):
                said["money"] = cleaned[f"money_{place}"]
            columns.append(said)
        options = dict(before["options"])
        for name in self.shown:
            value = cleaned.get(name)
            if name == "date":
                value = value.isoformat() if value else ""
            options[name] = value
        options["units"] = dict(options.get("units", {}))
        for place, column in enumerate(self.columns):
            for n, word in enumerate(column.get("unit_words", ())):
                options["units"][word] = cleaned.get(f"unitword_{place}_{n}", "")
        return {"columns": columns, "options": options}

    @staticmethod
    def start(mapping: dict[str, Any], columns: Sequence[dict[str, Any]] = ()) -> dict[str, Any]:
        """Initial values of a stored mapping."""
        initial: dict[str, Any] = dict(mapping["options"])
        for place, column in enumerate(columns):
            for n, word in enumerate(column.get("unit_words", ())):
                initial[f"unitword_{place}_{n}"] = initial.get("units", {}).get(word, "")
        initial["date"] = initial.get("date") or None
        for place, said in enumerate(mapping["columns"]):
            initial[f"field_{place}"] = said.get("field", "")
            if said.get("day_first") is not None:
                initial[f"day_{place}"] = "day" if said["day_first"] else "month"
            initial[f"mark_{place}"] = said.get("mark", "")
            initial[f"money_{place}"] = said.get("money", "")
        return initial


def _question(label: str, choices: list[tuple[str, str]], help_text: str) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        choices=choices,
        required=False,
        help_text=help_text,
        widget=forms.RadioSelect,
    )


def _options() -> dict[str, forms.Field]:
    units = [
        ("", "Not stated: I will fix those rows"),
        (OWN_UNIT, "The component's own unit"),
        *unit_choices(),
    ]
    return {
        "unit": forms.ChoiceField(
            label="Numbers without a unit are", choices=units, required=False
        ),
        "quantity": forms.CharField(
            label="Quantity if a row has none",
            max_length=60,
            required=False,
            help_text="For a table without quantities, like 1 lot.",
        ),
        "source": forms.ChoiceField(
            label="Source if a row has none",
            choices=optional_choices(Source.choices, "Not stated: I will fix those rows"),
            required=False,
        ),
        "state": forms.ChoiceField(label="State if a row has none", choices=State.choices),
        "labour": forms.ChoiceField(
            label="Kind of work if a row has none",
            choices=optional_choices(LabourKind.choices, "Not stated: I will fix those rows"),
            required=False,
        ),
        "supplier": forms.CharField(
            label="Supplier if a row has none", max_length=120, required=False
        ),
        "paid_by": forms.CharField(
            label="Who paid, if a row does not say", max_length=80, required=False
        ),
        "person": forms.CharField(label="Person if a row has none", max_length=80, required=False),
        "date": DayField(label="Date if a row has none", required=False),
        "year": forms.IntegerField(
            label="Year, for dates without one",
            min_value=1900,
            max_value=2200,
            required=False,
            error_messages={
                "invalid": "Enter the year with four digits, like 2026.",
                "min_value": "Enter the year with four digits, like 2026.",
                "max_value": "Enter the year with four digits, like 2026.",
            },
        ),
        "differ": forms.ChoiceField(
            label="If price of one × quantity differs from the whole price",
            choices=[
                ("ask", "Ask me, row by row"),
                ("total", "Use the whole price"),
                ("each", "Use the price of one"),
            ],
        ),
        "taxed": forms.ChoiceField(
            label="The whole prices",
            choices=[
                ("", "Not stated: I will fix rows with tax"),
                ("on top", "Do not include the tax beside them"),
                ("included", "Include the tax beside them"),
            ],
            required=False,
        ),
        "repeat": forms.BooleanField(
            label="Fill an empty date, supplier, receipt or payer from the row above",
            required=False,
        ),
        "together": forms.BooleanField(
            label="Rows with the same day and supplier are one purchase",
            required=False,
            help_text="If unticked, each row is its own purchase.",
        ),
    }
