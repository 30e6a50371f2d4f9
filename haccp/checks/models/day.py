"""A day of the day book, signed off by who worked it and reviewed by a second person."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.ledger.models import Signature
from haccp.premises.models import Premises, User


class DaySignature(models.Model):
    """signature.content holds exactly what the page showed when it was signed."""

    class Meaning(models.TextChoices):
        SIGNED_OFF = "signed_off", _("signed off as complete")
        REVIEWED = "reviewed", _("reviewed")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="day_signatures")
    day = models.DateField()
    meaning = models.CharField(max_length=12, choices=Meaning.choices)
    signed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    content_sha256 = models.CharField(max_length=64, help_text=_("of the page as signed; a later change shows"))

    class Meta:
        ordering: ClassVar = ["-day", "meaning"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["premises", "day", "meaning", "content_sha256"],
                name="a_state_of_a_day_is_signed_once",
                violation_error_message=_("Somebody has already signed this day as it stands."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.meaning}"
