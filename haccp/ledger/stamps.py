"""Time-stamps of signed heads by an RFC 3161 service, where TIMESTAMP_URL names one.

The stamp is over the head's signature. It proves to somebody who trusts neither the dairy nor this service that the
head existed at that time. The service sees a hash and nothing else.
"""

import logging
import urllib.request
from pathlib import Path

from cryptography.x509 import load_pem_x509_certificates
from django.conf import settings
from rfc3161_client import TimestampRequestBuilder, VerifierBuilder, decode_timestamp_response
from rfc3161_client.errors import VerificationError

from haccp.ledger.models import SignedHead

log = logging.getLogger(__name__)
CONTENT_TYPE = "application/timestamp-query"
LARGEST_ANSWER = 64 * 1024
TIMEOUT_S = 20


def is_configured() -> bool:
    return bool(settings.TIMESTAMP_URL)


def stamp(head: SignedHead) -> bool:
    """Asks for a stamp and keeps it; False, and a line in the log of the service, where it was not to be had."""
    asked = TimestampRequestBuilder().data(bytes.fromhex(head.signature)).cert_request(cert_request=True).build()
    request = urllib.request.Request(  # noqa: S310  (the address is a setting, checked below)
        settings.TIMESTAMP_URL, data=asked.as_bytes(), headers={"Content-Type": CONTENT_TYPE}
    )
    if request.type not in ("http", "https"):
        log.error("TIMESTAMP_URL is not an http or https address: heads are not stamped.")
        return False
    try:
        with urllib.request.urlopen(request, timeout=TIMEOUT_S) as answer:  # noqa: S310
            token = answer.read(LARGEST_ANSWER)
        moment = _check(token, bytes.fromhex(head.signature))
    except (OSError, ValueError, VerificationError):
        log.exception("The time-stamp service gave no stamp that can be used for %s.", head)
        return False
    return bool(SignedHead.objects.filter(pk=head.pk, stamp__isnull=True).update(stamp=token, stamped_at=moment))


def holds(head: SignedHead) -> bool:
    """Whether the kept stamp is over this head, by a service that the configured certificates vouch for."""
    if head.stamp is None:
        return False
    try:
        return bool(_check(bytes(head.stamp), bytes.fromhex(head.signature)) == head.stamped_at)
    except (OSError, ValueError, VerificationError):
        return False


def _check(token: bytes, stamped: bytes) -> object:
    """The moment that a stamp names. Errors: VerificationError, or ValueError for what is no stamp."""
    answer = decode_timestamp_response(token)
    builder = VerifierBuilder()
    for certificate in load_pem_x509_certificates(Path(settings.TIMESTAMP_CERTIFICATES).read_bytes()):
        builder = builder.add_root_certificate(certificate)
    builder.build().verify_message(answer, stamped)
    return answer.tst_info.gen_time
