"""The mark by which a form that arrives twice is known."""

import re
import secrets
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()
NAME = "form_token"
# The token of an entry that a device keeps and this form is to replace.
KEPT = "outbox"
TOKEN_FORM = re.compile(r"[A-Za-z0-9_-]{16,64}")


@register.simple_tag(takes_context=True)
def form_token(context: dict[str, Any]) -> SafeString:
    """A hidden field that names this form as shown this once."""
    field = format_html(
        '<input type="hidden" name="{}" value="{}">', NAME, secrets.token_urlsafe(16)
    )
    request = context.get("request")
    kept = request.POST.get(KEPT, "") if request is not None and request.method == "POST" else ""
    if not TOKEN_FORM.fullmatch(kept):
        return field
    return field + format_html('<input type="hidden" name="{}" value="{}">', KEPT, kept)
