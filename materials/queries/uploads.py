"""Stored files."""

from collections.abc import Iterator

from django.core.files.storage import default_storage


def list_uploads(folder: str = "") -> Iterator[str]:
    """Names of every stored file."""
    try:
        folders, files = default_storage.listdir(folder)
    except FileNotFoundError:
        return
    for name in sorted(files):
        yield f"{folder}/{name}" if folder else name
    for name in sorted(folders):
        yield from list_uploads(f"{folder}/{name}" if folder else name)
