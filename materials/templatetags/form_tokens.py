"""The mark by which a form that arrives twice is known."""

import secrets

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()
NAME = "form_token"


@register.simple_tag
def form_token() -> SafeString:
    """A hidden field that names this form as shown this once."""
    return format_html(
        '<input type="hidden" name="{}" value="{}">', NAME, secrets.token_urlsafe(16)
    )
