"""What a signature seals, and how it is read back for verification."""

import re
import uuid
from collections.abc import Iterator, Mapping, Sequence

from haccp.ledger import canonical
from haccp.ledger.models import Signature

KIND = "signature"
UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def subject(signature: Signature) -> str:
    return f"{KIND}:{signature.pk}"


def body(signature: Signature) -> dict[str, object]:
    """All that was signed. The content goes in whole: the entry alone then proves what the person was shown."""
    return {
        "signer_id": signature.signer_id,
        "printed_name": signature.printed_name,
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
    found = Signature.objects.filter(pk__in=[uuid.UUID(text) for text in ids if UUID.fullmatch(text)])
    return {subject(signature): body(signature) for signature in found}


def all_subjects(log_key: str) -> Iterator[str]:
    ids = Signature.objects.filter(log__key=log_key).order_by("pk").values_list("pk", flat=True)
    return (f"{KIND}:{pk}" for pk in ids.iterator())
