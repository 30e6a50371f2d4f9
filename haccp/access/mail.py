"""Letters about coming in. Sent after commit; a letter that cannot be sent never undoes what was done."""

import logging
import smtplib
from collections.abc import Sequence

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string

log = logging.getLogger(__name__)


def is_configured() -> bool:
    """Whether a mail service is named in the settings."""
    return bool(settings.EMAIL_HOST)


def send(*, to: Sequence[str], template: str, context: dict[str, object]) -> bool:
    """Sends one letter as plain text; the first line of the template is its subject. Whether it was handed over."""
    if not is_configured():
        return False
    subject, _, body = render_to_string(template, context).partition("\n")
    try:
        EmailMessage(" ".join(subject.split()), body.lstrip("\n"), to=list(to)).send()
    except (smtplib.SMTPException, OSError):
        # The page says so and shows the link; the log tells whoever looks after the service.
        log.exception("A letter could not be sent.")
        return False
    return True
