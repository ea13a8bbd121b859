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
_FIELD = '<input type="hidden" name="{}" value="{}">'


@register.simple_tag(takes_context=True)
def form_token(context: dict[str, Any]) -> SafeString:
    """A hidden field that names this form as shown this once.

    One that is to replace a kept entry, and was only looked at, is still that entry: it may have
    been sent meanwhile.
    """
    request = context.get("request")
    kept = request.POST.get(KEPT, "") if request is not None and request.method == "POST" else ""
    kept = kept if TOKEN_FORM.fullmatch(kept) else ""
    token = kept if context.get("is_looked_at") else ""
    field = format_html(_FIELD, NAME, token or secrets.token_urlsafe(16))
    return field + format_html(_FIELD, KEPT, kept) if kept else field
