"""Forms that take a workbook."""

from typing import Any

from django import forms

MAX_UPLOAD = 50 * 1024 * 1024
MAX_BUILD_FILE = 200 * 1024 * 1024


class UploadForm(forms.Form):
    """A workbook to add to a build."""

    workbook = forms.FileField(
        label="Workbook",
        help_text="A workbook (.xlsx) exported from here.",
        error_messages={
            "required": "Choose a file first.",
            "empty": "That file is empty. Choose the workbook itself.",
        },
        widget=forms.FileInput(attrs={"accept": ".xlsx,.ods"}),
    )

    # Shown only where the build seems to have some of the rows already.
    doubles_too = forms.BooleanField(
        required=False,
        label="Import them anyway",
        help_text="Tick this, and choose the file again.",
        widget=forms.HiddenInput,
    )

    # Names a workbook that was read already, in place of the file.
    read = forms.RegexField(r"^[0-9a-f]{64}$", required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["workbook"].required = not self.data.get("read")

    def ask_about_doubles(self) -> None:
        """Show the tick."""
        self.fields["doubles_too"].widget = forms.CheckboxInput()

    def clean_workbook(self):
        file = self.cleaned_data["workbook"]
        if file and file.size > MAX_UPLOAD:
            raise forms.ValidationError(
                "That file is over 50 MB: split it, or read it with the command import_sheet."
            )
        return file


class NewBuildUploadForm(UploadForm):
    """A workbook that begins a build."""

    name = forms.CharField(
        max_length=120,
        required=False,
        label="Build name",
        help_text="If empty: the name on the workbook's Build sheet.",
    )


class BuildFileForm(forms.Form):
    """A whole build's file, to be added to one's builds."""

    file = forms.FileField(
        label="Build file",
        help_text="A .zip file from “Whole build as one file”, here or on another server.",
        error_messages={
            "required": "Choose a file first.",
            "empty": "That file is empty. Choose the build's file itself.",
        },
        widget=forms.FileInput(attrs={"accept": ".zip,application/zip"}),
    )
    name = forms.CharField(
        max_length=120,
        required=False,
        label="Build name",
        help_text="If empty: the name it has in the file.",
    )

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > MAX_BUILD_FILE:
            raise forms.ValidationError(
                "That file is over 200 MB: ask whoever runs the server to import it with "
                "the command restore."
            )
        return file
