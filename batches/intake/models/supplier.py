"""Who milk and ingredients come from."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import Premises


class Supplier(models.Model):
    """The dairy's own herd is one too: its milk is counted and traced like any other. contact: address, telephone.

    approval: of the supplier by an authority or by the dairy (registration number, certificate), as text.
    """

    class Kind(models.TextChoices):
        OWN_HERD = "own_herd", _("our own herd")
        MILK = "milk", _("supplier of milk")
        INGREDIENTS = "ingredients", _("supplier of ingredients")
        BOTH = "both", _("supplier of milk and ingredients")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="suppliers")
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12, choices=Kind.choices)
    contact = models.TextField(blank=True)
    approval = models.CharField(max_length=120, blank=True)
    added_at = models.DateTimeField(default=timezone.now)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["premises", "name"],
                name="supplier_names_are_unique",
                violation_error_message=_("There is already a supplier of this name here."),
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def supplies_milk(self) -> bool:
        return self.kind != self.Kind.INGREDIENTS
