"""Names in a log, so that they can be erased on lawful request and every proof still holds.

The log does not hold a name but a commitment to it: SHA-256(salt || name), with 32 random bytes of salt. Name and
salt stand beside, once for each log and name. Whoever has both can check that the name is the one that was sealed;
once they are erased, nobody can tell from the commitment whose it was, not even by trying names. Free text that
people typed into records is not covered: what a record says is kept as long as the record.
"""

import hashlib
import secrets
import uuid
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from django.db.models import OuterRef, Subquery

from haccp.ledger.bulk import among, insert
from haccp.ledger.models import PersonalText
from haccp.ledger.sealed_rows import register_rows

SCHEME = "sha256:"
PREFIX = "personal"
ERASED = "personal.erased"
ERASED_WORDS = "Erased person"


def commitment_of(salt: str, text: str) -> str:
    """SHA-256(salt || text) in hexadecimal. salt: hexadecimal."""
    return hashlib.sha256(bytes.fromhex(salt) + text.encode("utf-8")).hexdigest()


def commitment_in(log: str, text: str) -> Subquery:
    """The commitment to a name that stands in a log, where there is one, for a query of rows that name the log so."""
    there = PersonalText.objects.filter(log_id=OuterRef(log), text=text, erased_at__isnull=True)
    return Subquery(there.values("commitment")[:1])


def references(log_ids: Sequence[uuid.UUID], text: str) -> dict[uuid.UUID, str]:
    """What each log holds in the place of a name: `sha256:…`. The caller holds the locks on the logs' rows."""
    there = PersonalText.objects.filter(log_id__in=among(log_ids), text=text, erased_at__isnull=True)
    found = dict(there.values_list("log_id", "commitment"))
    fresh = [_fresh(log_id, text) for log_id in log_ids if log_id not in found]
    insert(fresh)
    found |= {one.log_id: one.commitment for one in fresh}
    return {log_id: SCHEME + commitment for log_id, commitment in found.items()}


def _fresh(log_id: uuid.UUID, text: str) -> PersonalText:
    salt = secrets.token_hex(32)
    return PersonalText(commitment=commitment_of(salt, text), log_id=log_id, salt=salt, text=text)


def is_reference(text: str) -> bool:
    return text.startswith(SCHEME)


def texts_of(references: Iterable[str]) -> dict[str, PersonalText]:
    """The names behind references, by reference; those erased are there without name and salt."""
    hashes = {one.removeprefix(SCHEME) for one in references if is_reference(one)}
    return {SCHEME + found.commitment: found for found in PersonalText.objects.filter(pk__in=hashes)}


def show(text: str, known: Mapping[str, PersonalText]) -> str:
    """A name as it is to be shown: from its reference, or as it stands where it never was one."""
    if not is_reference(text):
        return text
    found = known.get(text)
    return found.text if found is not None and found.erased_at is None else ERASED_WORDS


def fault_of(found: PersonalText) -> str:
    """Why a name is not what was sealed, or ""."""
    if found.erased_at is not None:
        return "" if not found.text and not found.salt else "is said to be erased, but is there"
    try:
        fits = commitment_of(found.salt, found.text) == found.commitment
    except ValueError:
        fits = False
    return "" if fits else "was changed: it does not hash to its commitment"


def erase(found: PersonalText, *, reason: str, at: datetime) -> None:
    """Destroys a name and its salt. Only actions.erase_personal calls this, which seals it."""
    PersonalText.objects.filter(pk=found.pk, erased_at__isnull=True).update(
        salt="", text="", erased_at=at, reason=reason
    )
    found.salt, found.text, found.erased_at, found.reason = "", "", at, reason


def erased_body(found: PersonalText) -> dict[str, object]:
    return {"commitment": found.commitment, "erased_at": found.erased_at, "reason": found.reason}


def register() -> None:
    register_rows(
        ERASED,
        prefix=PREFIX,
        rows=PersonalText.objects.filter(erased_at__isnull=False).all,
        body=erased_body,
        log_key="log__key",
    )
