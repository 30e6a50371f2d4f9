"""What a signature seals, and how it is read back for verification."""

import re
import uuid
from collections.abc import Iterator, Mapping, Sequence

from haccp.ledger import canonical, personal
from haccp.ledger.models import PersonalText, Signature

KIND = "signature"
UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def subject(signature: Signature) -> str:
    return f"{KIND}:{signature.pk}"


def body(signature: Signature, printed_name: str) -> dict[str, object]:
    """All that was signed. The content goes in whole: the entry alone then proves what the person was shown.

    printed_name: the reference to the name (personal.py), where the row's name is the one that it refers to.
    """
    return {
        "signer_id": signature.signer_id,
        "printed_name": printed_name,
        "meaning": signature.meaning,
        "statement": signature.statement,
        "content_sha256": signature.content_sha256,
        "content": _shown(signature.content),
        "method": signature.method,
        "signed_at": signature.signed_at,
    }


def _shown(content: str) -> canonical.JsonValue:
    """The content as a value; as text where somebody left it unreadable: then it differs from what was sealed."""
    try:
        return canonical.loads(content)
    except ValueError:
        return content


def fetch_bodies(subjects: Sequence[str]) -> Mapping[str, Mapping[str, object]]:
    ids = [name.removeprefix(f"{KIND}:") for name in subjects]
    found = list(Signature.objects.filter(pk__in=[uuid.UUID(text) for text in ids if UUID.fullmatch(text)]))
    names = personal.texts_of(signature.name_reference for signature in found)
    return {subject(signature): body(signature, _sealed_name(signature, names)) for signature in found}


def _sealed_name(signature: Signature, names: Mapping[str, PersonalText]) -> str:
    """The reference while the row shows the name behind it; otherwise the name as it stands, which then differs."""
    reference = signature.name_reference
    fits = reference in names and signature.printed_name == personal.show(reference, names)
    return reference if fits else signature.printed_name


def all_subjects(log_key: str) -> Iterator[str]:
    ids = Signature.objects.filter(log__key=log_key).order_by("pk").values_list("pk", flat=True)
    return (f"{KIND}:{pk}" for pk in ids.iterator())
