"""Being told: what a person wants, what was raised for whom, and what was sent.

A delivery is at least once: it is claimed, sent, and only then noted as sent. A process that dies between sending and
noting makes one second message; the message's id is the same, so that a mail program can tell.
"""

import uuid
from datetime import time
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.deviations.models import Deviation
from haccp.premises.models import Membership, User


class Wishes(models.Model):
    """What one person at one dairy wants to be told, and when not. next_digest_at: when the next one is made."""

    membership = models.OneToOneField(Membership, on_delete=models.CASCADE, primary_key=True, related_name="wishes")
    alerts_by_email = models.BooleanField(_("Alerts by e-mail"), default=True)
    alerts_by_push = models.BooleanField(_("Alerts on my devices"), default=True)
    digest_by_email = models.BooleanField(_("A digest of the day by e-mail"), default=True)
    digest_at = models.TimeField(_("When the digest is sent"), default=time(6, 30))
    quiet_from = models.TimeField(_("Quiet from"), null=True, blank=True, default=time(21, 0))
    quiet_until = models.TimeField(_("Quiet until"), null=True, blank=True, default=time(5, 30))
    wake_for_critical = models.BooleanField(_("Tell me of critical limits in quiet hours too"), default=False)
    next_digest_at = models.DateTimeField(null=True, blank=True, db_index=True)

    def __str__(self) -> str:
        return str(self.membership)


class CalendarAddress(models.Model):
    """The secret address of a person's calendar feed. Only its hash is kept; the address is shown once."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.ForeignKey(Membership, on_delete=models.CASCADE, related_name="calendar_addresses")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(default=timezone.now)
    last_read_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["membership"],
                condition=models.Q(revoked_at__isnull=True),
                name="one_calendar_address_per_person",
            )
        ]

    def __str__(self) -> str:
        return f"calendar of {self.membership}"


class PushDevice(models.Model):
    """A browser that may be told by web push (RFC 8030, 8291, 8292). ended_at: it signed off, or its service said
    that it is gone."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.ForeignKey(Membership, on_delete=models.CASCADE, related_name="push_devices")
    endpoint = models.URLField(max_length=1000)
    p256dh = models.CharField(max_length=200)
    auth = models.CharField(max_length=100)
    added_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["membership", "endpoint"], name="a_browser_is_told_once")
        ]

    def __str__(self) -> str:
        return f"device of {self.membership}"


class Alert(models.Model):
    """A deviation that people are told of until somebody reacts. level: how often it has been taken further."""

    deviation = models.OneToOneField(Deviation, on_delete=models.PROTECT, primary_key=True, related_name="alert")
    raised_at = models.DateTimeField()
    level = models.PositiveSmallIntegerField(default=0)
    next_level_at = models.DateTimeField(null=True, blank=True, db_index=True)
    taken_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    taken_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"alert of {self.deviation}"


class Notice(models.Model):
    """Something that one person is told. about: what makes it one and the same, such as "alert:<id>:0"."""

    class Kind(models.TextChoices):
        ALERT = "alert", _("alert")
        DIGEST = "digest", _("digest")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="notices")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    about = models.CharField(max_length=80)
    subject = models.CharField(max_length=200)
    text = models.TextField()
    path = models.CharField(max_length=200, help_text=_("The page that it leads to"))
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["-made_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["membership", "about"], name="nobody_is_told_the_same_twice")
        ]

    def __str__(self) -> str:
        return self.subject


class Delivery(models.Model):
    """One notice by one channel to one address. Waits in the row until it is sent or given up."""

    class Channel(models.TextChoices):
        EMAIL = "email", _("e-mail")
        PUSH = "push", _("device")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    notice = models.ForeignKey(Notice, on_delete=models.PROTECT, related_name="deliveries")
    channel = models.CharField(max_length=8, choices=Channel.choices)
    device = models.ForeignKey(PushDevice, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    due_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.TextField(blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["notice", "channel"],
                condition=models.Q(device__isnull=True),
                name="one_mail_for_a_notice",
            ),
            models.UniqueConstraint(
                fields=["notice", "device"],
                condition=models.Q(device__isnull=False),
                name="one_push_for_a_notice_and_device",
            ),
        ]
        indexes: ClassVar = [
            models.Index(
                fields=["due_at"],
                condition=models.Q(sent_at__isnull=True, given_up_at__isnull=True),
                name="deliveries_that_wait",
            )
        ]

    def __str__(self) -> str:
        return f"{self.notice} by {self.channel}"


class Sent(models.Model):
    """That a notice was sent, to which address and when. Sealed."""

    delivery = models.OneToOneField(Delivery, on_delete=models.PROTECT, primary_key=True, related_name="sent")
    address = models.CharField(max_length=320)
    subject = models.CharField(max_length=200)
    sent_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.subject} to {self.address}"
