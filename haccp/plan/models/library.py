"""The library of published knowledge as it was loaded: every version of every entry stays."""

import uuid
from typing import Any, ClassVar, Self

from django.db import models
from django.utils.translation import gettext_lazy as _


class LibraryLoad(models.Model):
    """One loading of the library that changed something."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=120)
    number = models.PositiveIntegerField(help_text=_("Edition"))
    dated = models.DateField()
    sha256 = models.CharField(max_length=64)
    loaded_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-loaded_at"]

    def __str__(self) -> str:
        return f"{self.name}, edition {self.number}"


class EntryQuerySet(models.QuerySet[Any]):
    def current(self) -> Self:
        """The newest version of each entry that the files still hold."""
        return self.filter(replaced_at__isnull=True)


class LibraryEntry(models.Model):
    """One version of an entry. A changed entry gets a new version; one that left the files is replaced by nothing.

    content: the entry as the file had it (see fixtures/schemas/library-1.json). position: its place among the entries
    of its section, in the order of the files when it was loaded.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    key = models.CharField(max_length=80)
    version = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    content = models.JSONField()
    file = models.CharField(max_length=160)
    position = models.PositiveIntegerField()
    loaded_at = models.DateTimeField()
    replaced_at = models.DateTimeField(null=True, blank=True)

    objects = EntryQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering: ClassVar = ["key", "version"]

    def __str__(self) -> str:
        return f"{self.key} (version {self.version})"

    @property
    def is_current(self) -> bool:
        return self.replaced_at is None


def _one_version_each(name: str) -> list[models.BaseConstraint]:
    return [
        models.UniqueConstraint(fields=["key", "version"], name=f"library_{name}_versions_are_unique"),
        models.UniqueConstraint(
            fields=["key"], condition=models.Q(replaced_at__isnull=True), name=f"library_{name}_one_current"
        ),
    ]


class LibraryDocument(LibraryEntry):
    title = models.CharField(max_length=240)
    jurisdiction = models.CharField(max_length=8)
    known = models.CharField(max_length=12, help_text=_("read, secondary or memory"))
    superseded_by = models.CharField(max_length=80, blank=True)

    class Meta(LibraryEntry.Meta):
        constraints: ClassVar = _one_version_each("document")


class LibraryValue(LibraryEntry):
    subject = models.CharField(max_length=24, db_index=True)
    title = models.CharField(max_length=240)
    jurisdictions = models.JSONField()
    document = models.CharField(max_length=80)
    clause = models.CharField(max_length=160)
    known = models.CharField(max_length=12, help_text=_("read, secondary or memory"))
    force = models.CharField(max_length=12)
    effective_from = models.DateField(null=True, blank=True)
    effective_to = models.DateField(null=True, blank=True)
    superseded_by = models.CharField(max_length=80, blank=True)

    class Meta(LibraryEntry.Meta):
        constraints: ClassVar = _one_version_each("value")

    @property
    def is_superseded(self) -> bool:
        """By another value, or by a later version of itself."""
        return bool(self.superseded_by) or not self.is_current


class LibraryHazard(LibraryEntry):
    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=12)

    class Meta(LibraryEntry.Meta):
        constraints: ClassVar = _one_version_each("hazard")


class LibraryBlock(LibraryEntry):
    """A building block of starting plans."""

    class Section(models.TextChoices):
        STEP = "steps", _("process step")
        CONTROL = "controls", _("control")
        FAMILY = "families", _("cheese family")
        QUESTION = "questions", _("question")

    section = models.CharField(max_length=10, choices=Section.choices)

    class Meta(LibraryEntry.Meta):
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["section", "key", "version"], name="library_block_versions_are_unique"),
            models.UniqueConstraint(
                fields=["section", "key"],
                condition=models.Q(replaced_at__isnull=True),
                name="library_block_one_current",
            ),
        ]
