"""How people come in: invitations to a role."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models

from haccp.premises.models import Membership, Premises, User


class VisitorLink(models.Model):
    """The key of a visitor's membership: whoever opens the link reads, until the membership's `until` or until it is
    ended. Only the token's hash is kept."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.OneToOneField(Membership, on_delete=models.PROTECT, related_name="visitor_link")
    token_sha256 = models.CharField(max_length=64, unique=True)
    last_opened_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return str(self.membership)


class Pin(models.Model):
    """A person's PIN for taking over a shared device, hashed as a password is; locked after wrong ones."""

    user = models.OneToOneField(User, on_delete=models.PROTECT, primary_key=True, related_name="pin")
    hashed = models.CharField(max_length=200)
    wrong = models.PositiveSmallIntegerField(default=0)
    locked_until = models.DateTimeField(null=True, blank=True)
    set_at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.user)


class Invitation(models.Model):
    """A role offered to somebody by e-mail. Only the hash of the link's token is kept, so that nobody who reads the
    database can use it. Name and address are the invited person's and may be erased; the rest is sealed."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="invitations")
    email = models.EmailField()
    name = models.CharField(max_length=120, blank=True)
    role = models.CharField(max_length=12, choices=Membership.Role.choices)
    token_sha256 = models.CharField(max_length=64, unique=True)
    invited_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    invited_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["-invited_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["premises", "email"],
                condition=models.Q(accepted_at__isnull=True, withdrawn_at__isnull=True),
                name="one_open_invitation_per_address",
            )
        ]

    def __str__(self) -> str:
        return f"{self.email} · {self.get_role_display()}"

    def is_open(self, at: datetime) -> bool:
        return self.accepted_at is None and self.withdrawn_at is None and at < self.expires_at


class Passkey(models.Model):
    """A key pair of which a telephone, a computer or a stick keeps the private half (W3C Web Authentication).

    sign_count: the last number that it counted to; a smaller one later would be a copy of it.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="passkeys")
    name = models.CharField(max_length=80)
    credential_id = models.BinaryField(max_length=1023, unique=True)
    public_key = models.BinaryField()
    sign_count = models.BigIntegerField(default=0)
    added_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["added_at"]

    def __str__(self) -> str:
        return self.name
