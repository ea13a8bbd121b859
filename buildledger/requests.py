"""Requests as a server hands them on: whatever their headers say, one can be made of them.

Django works out a request's charset and the boundary of its parts from what the sender says, and
before any of our code runs; what it finds there can end the answering itself. So what is said of
the charset is taken away first: everything is read as UTF-8, and a request that says to be in
another is noted, for ``middleware.understood`` to answer.
"""

import re
from typing import Any

from django.core.handlers.wsgi import WSGIHandler, WSGIRequest
from django.http.multipartparser import MultiPartParserError
from django.utils.http import parse_header_parameters

# Every way to state it, numbered and encoded parts of it (RFC 2231) included.
_CHARSET = re.compile(r';\s*charset[\d*]*\s*=\s*(?:"[^"]*"|[^;]*)', re.IGNORECASE)
_UTF_8 = {"utf-8", "utf8", "us-ascii", "ascii"}


class Request(WSGIRequest):
    """A request whose content type is one that can be read, or none.

    ``is_foreign``: it says to be in a charset other than UTF-8, or its type cannot be read.
    """

    def __init__(self, environ: dict[str, Any]):
        stated = environ.get("CONTENT_TYPE") or ""
        try:
            _, parts = parse_header_parameters(stated)
            self.is_foreign = parts.get("charset", "utf-8").lower().replace("_", "-") not in _UTF_8
            environ["CONTENT_TYPE"] = _CHARSET.sub("", stated)
            super().__init__(environ)
        except (LookupError, TypeError, ValueError):
            # Python's reader of headers falls over some that are none.
            self.is_foreign = True
            environ["CONTENT_TYPE"] = ""
            super().__init__(environ)

    def parse_file_upload(self, META: Any, post_data: Any) -> Any:
        """The same reader is used for the headers of parts."""
        try:
            return super().parse_file_upload(META, post_data)
        except (LookupError, TypeError, ValueError) as error:
            raise MultiPartParserError("A part of what was sent cannot be read.") from error


class Handler(WSGIHandler):
    """The application that a server calls."""

    request_class = Request
