"""Mail the day before a deadline, once for each member, deadline and moment it is due.

``manage.py send_reminders`` is run by a timer, daily or hourly; two runs at once send one mail.
Each deadline is claimed in the database before its mail is sent. What could not be sent is given
free and sent by the next run. A run that is killed between the mail and its note is the one case
in which a mail comes twice: better than none.
"""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.core.mail import EmailMessage
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.urls import reverse

from ..calc.deadlines import deadline_words
from ..models import Alerts, Build, Member, Purchase, Reminder
from ..queries.deadlines import list_to_tell, list_wanting_mail
from .clock import within

log = logging.getLogger(__name__)
# After this a claim without a mail is taken for that of a run that was killed.
CLAIMED = timedelta(minutes=15)


@dataclass
class Sent:
    """How many mails went out, and how many could not."""

    mails: int = 0
    failed: int = 0


def send_reminders(now: datetime) -> Sent:
    """Send each member who wants it one mail about all that is due today or tomorrow."""
    sent = Sent()
    for alerts in list_wanting_mail():
        member = alerts.member
        due = list_to_tell(member, now)
        claims = {row.pk: claim for row in due if (claim := _claim(member, row, now))}
        if not claims:
            continue
        try:
            _mail(alerts, [row for row in due if row.pk in claims], now).send()
        except Exception as error:
            # Whatever the mail server objects to, the next run tries again.
            Reminder.objects.filter(pk__in=claims.values()).delete()
            log.error("Mail about deadlines was not sent: %s", type(error).__name__)
            sent.failed += 1
        else:
            Reminder.objects.filter(pk__in=claims.values()).update(sent_at=now)
            sent.mails += 1
    return sent


def _claim(member: Member, row: Purchase, now: datetime) -> int | None:
    """The key of the claim, or None where another run holds it or has sent the mail."""
    what = {"member": member, "purchase": row, "due_at": row.due_at}
    try:
        with transaction.atomic():
            return Reminder.objects.create(**what, claimed_at=now).pk
    except IntegrityError:
        stale = Reminder.objects.filter(**what, sent_at=None)
        stale = stale.exclude(within("claimed_at", CLAIMED, now))
        pk = stale.values_list("pk", flat=True).first()
        return pk if pk is not None and stale.filter(pk=pk).update(claimed_at=now) else None


def _mail(alerts: Alerts, rows: list[Purchase], now: datetime) -> EmailMessage:
    user, build = alerts.member.user, alerts.member.build
    settings_page = alerts.site + reverse("deadlines", args=[build.pk])
    listed = [_words(row, build, alerts.site, now) for row in rows]
    body = render_to_string(
        "mail/deadlines.txt",
        {"user": user, "build": build, "listed": listed, "settings_page": settings_page},
    )
    subject = f"{build.name}: {listed[0][0]}"
    if len(listed) > 1:
        subject += f" and {len(listed) - 1} more"
    return EmailMessage(
        " ".join(subject.split()),
        body,
        to=[user.email],
        headers={"List-Unsubscribe": f"<{settings_page}>"},
    )


def _words(row: Purchase, build: Build, site: str, now: datetime) -> tuple[str, str]:
    """One deadline in a line, and the address of its page."""
    assert row.deadline is not None
    kind, day, at = row.deadline
    lines = [str(line) for line in row.lines.all()]
    what = lines[0] if lines else row.number
    if len(lines) > 1:
        what += f" and {len(lines) - 1} more"
    where = f", {row.supplier}" if row.supplier else ""
    text = f"{what}{where} {deadline_words(kind, day, at, now, build.zone)}"
    return text, site + reverse("purchase", args=[build.pk, row.pk])
