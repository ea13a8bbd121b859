"""The page for whatever watches over a server: does it work, in one word each."""

import threading
import time

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_safe

from ..queries.health import FINE, check_health

# Asked however often, each process looks only so often; meanwhile it says what it saw last.
SECONDS = 10


class HealthCache:
    """What was seen last in this process, and when."""

    def __init__(self) -> None:
        self.answers: dict[str, str] = {}
        self.at = 0.0
        self._looking = threading.Lock()

    def answer(self) -> dict[str, str]:
        """Look again when it is time. Whoever comes while somebody looks does not wait."""
        if self.answers and time.monotonic() < self.at + SECONDS:
            return self.answers
        if not self._looking.acquire(blocking=False):
            return self.answers or {"database": "being asked"}
        try:
            self.answers = check_health()
            self.at = time.monotonic()
        finally:
            self._looking.release()
        return self.answers


seen = HealthCache()


@login_not_required
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """200 when everything works, else 503; a few words, nothing secret, no session."""
    answers = seen.answer()
    is_fine = set(answers.values()) == {FINE}
    answer = JsonResponse(answers, status=200 if is_fine else 503)
    answer["Cache-Control"] = "no-store"
    return answer
