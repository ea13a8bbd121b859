"""Forms that take photos."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from .base import RecordForm

CAPTION = {"max_length": 200, "required": False}


class _FilesInput(forms.FileInput):
    """Hands on all files of its name, as many as came."""

    def value_from_datadict(self, data: Any, files: Any, name: str) -> list[UploadedFile]:
        return files.getlist(name) if hasattr(files, "getlist") else []


class _ManyInput(_FilesInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Any number of files. What is in them, and how large they are, the service checks."""

    # Not every field is needed, but one of them is: “(optional)” at each would mislead.
    is_needed = True

    def __init__(self, **kwargs: Any):
        super().__init__(required=False, allow_empty_file=True, **kwargs)

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile]:
        clean_one = super().clean
        return [clean_one(file, initial) for file in data]


def camera_field(**kwargs: Any) -> FilesField:
    """A field that opens the camera on a phone."""
    camera = _FilesInput(attrs={"accept": "image/*", "capture": "environment"})
    return FilesField(widget=camera, **kwargs)


class PhotoForm(RecordForm):
    """Photos from the camera, or from those on the device.

    They are two fields: asked to take a photo, many phones offer nothing else.
    """

    taken = camera_field(label="Take a photo")
    chosen = FilesField(
        label="Or choose photos",
        help_text="JPEG, PNG or WebP, up to 15 MB each and ten at a time."
        " Where and when they were taken is removed.",
        widget=_ManyInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    caption = forms.CharField(label="Caption", help_text="What it shows.", **CAPTION)

    def files_sent(self) -> list[UploadedFile]:
        """Files of both fields."""
        return [*self.cleaned_data["taken"], *self.cleaned_data["chosen"]]


class CaptionForm(RecordForm):
    """The caption of a photo."""

    caption = forms.CharField(label="Caption", **CAPTION)
