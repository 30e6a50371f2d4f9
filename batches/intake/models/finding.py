"""What was found of a milk lot on arrival and after: read off an instrument, smelled, seen, tested."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.lots.models import Lot
from haccp.premises.models import Instrument, User


class MilkFinding(models.Model):
    """value_si in the SI unit of the kind's quantity, or an answer. Sealed: the last one of a kind counts, all are
    shown; several temperatures are a cooling curve. expanded_uncertainty, unfit: the instrument as it stood then."""

    class Kind(models.TextChoices):
        TEMPERATURE = "temperature", _("temperature")
        PH = "ph", _("pH")
        ACIDITY = "titratable_acidity", _("titratable acidity")
        FAT = "fat", _("fat")
        PROTEIN = "protein", _("protein")
        CASEIN = "casein", _("casein")
        SENSES = "senses", _("smell and look")
        RESIDUES = "residues", _("residue test")

    class Answer(models.TextChoices):
        GOOD = "as it should be", _("as it should be")
        OFF = "not as it should be", _("not as it should be")
        NEGATIVE = "negative", _("negative")
        POSITIVE = "positive", _("positive")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="findings")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    value_si = models.FloatField(null=True, blank=True)
    answer = models.CharField(max_length=20, blank=True, choices=Answer.choices)
    typed_text = models.CharField(max_length=80, blank=True)
    typed_unit = models.CharField(max_length=16, blank=True)
    observed_at = models.DateTimeField()
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    expanded_uncertainty = models.FloatField(default=0.0)
    unfit = models.TextField(blank=True)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["observed_at", "recorded_at"]
        indexes: ClassVar = [models.Index(fields=["lot", "kind"])]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(value_si__isnull=False, answer="")
                | (models.Q(value_si__isnull=True) & ~models.Q(answer="")),
                name="a_finding_is_a_value_or_an_answer",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.typed_text or self.answer}"
