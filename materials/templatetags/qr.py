"""A QR code as part of a page: a path and attributes, which the policy of scripts lets pass."""

import segno
from django import template
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.simple_tag
def qr(text: str) -> SafeString:
    """An SVG with a quiet zone of its own on white, so that it is read in dark colours too."""
    made = segno.make(text, micro=False, error="m")
    # Attributes and one path, made from squares alone: nothing of the text is written into it.
    return mark_safe(made.svg_inline(scale=5, border=4, dark="#000", light="#fff"))
