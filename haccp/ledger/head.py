"""The head of a log: how long it is and what root it has; and the short form that is printed on pages."""

import base64
import re
from dataclasses import dataclass

from haccp.ledger.errors import LedgerError

FINGERPRINT_BYTES = 10  # 16 characters of base32 (RFC 4648 s.6): short enough to read aloud, 80 bits of the root


@dataclass(frozen=True, slots=True)
class Head:
    """size: number of entries; root_hex: 64 hexadecimal digits, the RFC 9162 root over all of them."""

    size: int
    root_hex: str


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """A fingerprint as read from paper: the size of the log, and the first bytes of its root."""

    size: int
    prefix: bytes

    def fits(self, head: Head) -> bool:
        return self.size == head.size and bytes.fromhex(head.root_hex).startswith(self.prefix)


def fingerprint(head: Head) -> str:
    """Short form of a head, to be printed and read aloud: `NY2A-WOM4-7767-5BBL/1204`."""
    letters = base64.b32encode(bytes.fromhex(head.root_hex)[:FINGERPRINT_BYTES]).decode("ascii")
    return "-".join(letters[place : place + 4] for place in range(0, len(letters), 4)) + f"/{head.size}"


def read_fingerprint(typed: str) -> Fingerprint:
    """The fingerprint that a person typed from paper; case, spaces and hyphens do not matter.

    Errors: LedgerError where it is not four groups of four letters and digits, a stroke and a number.
    """
    match = re.fullmatch(r"([A-Z2-7]{16})/([0-9]+)", re.sub(r"[\s\-–]", "", typed).upper())
    if match is None:
        raise LedgerError(
            f"“{typed}” is not a fingerprint. Type it as it is printed: four groups of four letters and digits"
            " (A to Z, 2 to 7), a stroke, and the number of entries, such as NY2A-WOM4-7767-5BBL/1204."
        )
    return Fingerprint(int(match[2]), base64.b32decode(match[1]))
