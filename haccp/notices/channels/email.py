"""E-mail through Django's mail backend."""

from smtplib import SMTPException
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMessage, get_connection

from haccp.notices.channels import NotDelivered

SMTP = "django.core.mail.backends.smtp.EmailBackend"


def is_set_up() -> bool:
    """Whether mail can be sent at all: a host is named, or another backend than SMTP is set."""
    return settings.EMAIL_BACKEND != SMTP or bool(settings.EMAIL_HOST)


def send(*, message_id: UUID, address: str, subject: str, text: str) -> None:
    """The same message_id for each try, so that a mail program shows a repeated message once. Raises NotDelivered."""
    domain = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2].strip("> ") or "localhost"
    message = EmailMessage(
        subject=subject,
        body=text,
        to=[address],
        headers={
            "Message-ID": f"<{message_id}@{domain}>",
            "Auto-Submitted": "auto-generated",  # RFC 3834: no out-of-office answers to it
        },
        connection=get_connection(timeout=settings.EMAIL_TIMEOUT) if settings.EMAIL_BACKEND == SMTP else None,
    )
    try:
        sent = message.send()
    except (SMTPException, OSError) as error:
        raise NotDelivered(f"{type(error).__name__}: {error}"[:500]) from error
    if not sent:
        raise NotDelivered("The mail server took no message.")
