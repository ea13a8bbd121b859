"""Forms that take photos."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from .base import RecordForm

CAPTION = {"max_length": 200, "required": False}


# The keys of photos held since the form last came back, as its page carries them.
HELD = "held_photo"


class _FilesInput(forms.FileInput):
    """Hands on all files of its name, as many as came; lists those that are held already."""

    template_name = "django/forms/widgets/photos.html"
    held: Sequence[Any] = ()

    def get_context(self, name: str, value: Any, attrs: Any) -> dict[str, Any]:
        return super().get_context(name, value, attrs) | {"held": self.held, "held_name": HELD}

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


class FormWithPhotos(RecordForm):
    """A form with a field for photos, ``photo``, beside others."""

    photo_fields: tuple[str, ...] = ("photo",)

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        if self.record is not None and self.record.pk:
            # What is stored has a page of photos of its own.
            for name in self.photo_fields:
                del self.fields[name]
            self.photo_fields = ()

    def show_held(self, held: Sequence[Any], refused: Sequence[str]) -> None:
        """List what is held below the last field, and say what could not be."""
        name = self.photo_fields[-1]
        self.fields[name].widget.held = held
        for text in refused:
            if self.is_bound and text not in self.non_field_errors():
                self.add_error(name, text)

    def values(self) -> dict[str, Any]:
        values = super().values()
        return {name: values[name] for name in values if name not in self.photo_fields}


class PhotoForm(FormWithPhotos):
    """Photos from the camera, or from those on the device.

    They are two fields: asked to take a photo, many phones offer nothing else.
    """

    photo_fields = ("taken", "chosen")
    taken = camera_field(label="Take a photo")
    chosen = FilesField(
        label="Or choose photos",
        help_text="JPEG, PNG or WebP, up to 15 MB each and ten at a time."
        " We remove where and when they were taken.",
        widget=_ManyInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    caption = forms.CharField(label="Caption", help_text="What it shows.", **CAPTION)


class CaptionForm(RecordForm):
    """The caption of a photo."""

    caption = forms.CharField(label="Caption", **CAPTION)


class PileForm(PhotoForm):
    """Photos of a day, to be sorted later, with one note for all of them."""

    chosen = FilesField(
        label="Or choose photos",
        help_text="JPEG, PNG or WebP, up to 15 MB each and 30 at a time."
        " We remove where and when they were taken.",
        widget=_ManyInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    caption = forms.CharField(
        label="Note", help_text="For all of them. You can change it photo by photo.", **CAPTION
    )
