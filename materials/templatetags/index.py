"""The index of a build's pages, which marks where one is."""

from django import template
from django.template import Context
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag(takes_context=True)
def entry(
    context: Context, name: str, label: str, section: str = "", pages: str = "", without: str = ""
) -> SafeString:
    """An entry of the index: the page of an address, and the section that it stands for.

    It is current as ``page`` on that page and as ``true`` on the others of its section, of
    those only where the address has ``pages`` in its name, and has not ``without``.
    """
    match = getattr(context.get("request"), "resolver_match", None)
    here = (match and match.url_name) or ""
    is_inside = section and context.get("section") == section and pages in here
    if without and without in here:
        is_inside = False
    current = "page" if here == name else "true" if is_inside else ""
    mark = format_html(' aria-current="{}"', current) if current else ""
    address = reverse(name, args=[context["build"].pk])
    return format_html('<li><a href="{}"{}>{}</a></li>', address, mark, label)
