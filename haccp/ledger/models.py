"""Logs, their entries, and signatures. Rows are only ever added: triggers.py holds the database to that."""

import hashlib
import uuid

from django.db import models

from haccp.ledger.merkle import Frontier


class Log(models.Model):
    """One append-only log. `size` and `peaks` are its frontier (merkle.Frontier); all else never changes."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    key = models.CharField(max_length=120, unique=True)
    size = models.PositiveBigIntegerField(default=0)
    peaks = models.JSONField(default=list, help_text="Roots of the complete subtrees, largest first, hexadecimal.")
    opened_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.key

    @property
    def frontier(self) -> Frontier:
        """Errors: ValueError where peaks and size cannot belong together."""
        return Frontier(self.size, tuple(bytes.fromhex(peak) for peak in self.peaks))


class Entry(models.Model):
    """One sealed fact. `body` is canonical JSON, kept as the very text that was hashed.

    `subtrees` are the roots of the complete subtrees whose last leaf this entry is, smallest first: the root of
    subtree (level, position) stands in entry (position + 1) * 2**level - 1, so a proof reads O(log n) rows.
    """

    # The constraint below indexes it already.
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="entries", db_index=False)
    index = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=60)
    subject = models.CharField(max_length=120, help_text="What the entry is about, such as record:UUID.")
    body = models.TextField()
    leaf_hash = models.CharField(max_length=64)
    subtrees = models.JSONField(default=list)
    recorded_at = models.DateTimeField()
    actor = models.CharField(max_length=300, help_text="Who did it: a reference to a PersonalText.")

    class Meta:
        verbose_name_plural = "entries"
        ordering = ["log", "index"]
        constraints = [models.UniqueConstraint(fields=["log", "index"], name="ledger_entry_index_once")]
        indexes = [
            models.Index(fields=["log", "subject"], name="ledger_entry_subject"),
            models.Index(fields=["subject"], name="ledger_entry_subject_any"),
        ]

    def __str__(self) -> str:
        return f"{self.index} {self.kind} {self.subject}"


class Signature(models.Model):
    """A person's signature: who, what they attested, and exactly what they were shown when they did.

    Names are copied as they stood at the moment of signing: 21 CFR 11.50 asks for the printed name, the date and
    time, and the meaning of the signing; 11.70 asks that it cannot be moved to another record.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="signatures")
    signer_id = models.CharField(max_length=64)
    printed_name = models.CharField(max_length=200)
    name_reference = models.CharField(max_length=80, default="", help_text="What is sealed in the place of the name.")
    meaning = models.CharField(max_length=60)
    statement = models.TextField(help_text="What the person attested, as shown.")
    content_sha256 = models.CharField(max_length=64)
    content = models.TextField(help_text="Canonical JSON of exactly what the person was shown.")
    method = models.CharField(max_length=30)
    signed_at = models.DateTimeField()

    class Meta:
        ordering = ["signed_at", "id"]

    def __str__(self) -> str:
        return f"{self.printed_name}: {self.meaning}"


class PersonalText(models.Model):
    """A name behind a commitment (personal.py). Erased: name and salt are gone, the commitment stays."""

    commitment = models.CharField(max_length=64, primary_key=True)
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="+")
    salt = models.CharField(max_length=64)
    text = models.CharField(max_length=300)
    erased_at = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["log", "text"], condition=models.Q(erased_at__isnull=True), name="ledger_name_once_in_a_log"
            )
        ]

    def __str__(self) -> str:
        return self.commitment


class SignedHead(models.Model):
    """A log's size and root at a moment, signed with Ed25519; stamped by an RFC 3161 service where there is one."""

    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="heads")
    size = models.PositiveBigIntegerField()
    root_hex = models.CharField(max_length=64)
    signed_at = models.DateTimeField()
    public_key = models.CharField(max_length=64)
    signature = models.CharField(max_length=128)
    stamp = models.BinaryField(null=True)
    stamped_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["log", "size"]
        constraints = [models.UniqueConstraint(fields=["log", "size"], name="ledger_head_once_for_each_size")]

    def __str__(self) -> str:
        return f"{self.log_id} at {self.size}"

    @property
    def key_words(self) -> str:
        """The short form of the public key, to be compared by eye: 16 hexadecimal digits of its SHA-256."""
        digits = hashlib.sha256(bytes.fromhex(self.public_key)).hexdigest()[:16]
        return "-".join(digits[place : place + 4] for place in range(0, 16, 4))
