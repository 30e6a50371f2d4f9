"""Codes on the wall and on the cheese: scanned at a check, they show that the person stood there."""

import base64
from collections.abc import Sequence

import segno
from django.utils.safestring import SafeString, mark_safe

from haccp.lots.models import Lot
from haccp.plan.models import Check
from haccp.premises.models import Place, Premises

_LETTERS = 8  # 40 bits of the place's id: one in a million million that two places of a dairy share it


def code_of_place(place: Place) -> str:
    """Short enough to be typed in when a camera fails; the same for ever, since the place's id is."""
    letters = base64.b32encode(place.id.bytes).decode()[:_LETTERS]
    return f"P-{letters[:4]}-{letters[4:]}"


def wanted(check: Check, lot: Lot | None) -> str:
    """The code that is to be scanned at a check; "" for a check of neither a lot nor a place."""
    if lot is not None:
        return lot.code
    return code_of_place(check.place) if check.place is not None else ""


def wrong(check: Check, lot: Lot | None, scanned: str, premises: Premises) -> str:
    """The sentence that says what is wrong with a scanned code; "" when it is the right one."""
    right = wanted(check, lot)
    if _plain(scanned) == _plain(right):
        return ""
    about = lot.code if lot is not None else str(check.place)
    other = next((one for one in Place.objects.filter(premises=premises) if same(one, scanned)), None)
    if other is not None:
        return f"That is the code of {other.name}; this check is about {about}."
    if Lot.objects.for_premises(premises).filter(code__iexact=scanned.strip()).exists():
        return f"That is the code of {scanned.strip()}; this check is about {about}."
    return f"That code is not known here; scan the one of {about}."


def same(place: Place, scanned: str) -> bool:
    return _plain(code_of_place(place)) == _plain(scanned)


def picture(code: str) -> SafeString:
    """A QR code (ISO/IEC 18004) as SVG to be put into a page."""
    return mark_safe(segno.make(code, error="m", micro=False).svg_inline(scale=4, border=2))  # noqa: S308


def sheet(places: Sequence[Place]) -> list[tuple[Place, str, SafeString]]:
    """(place, code, picture), to be printed and hung up."""
    return [(place, code_of_place(place), picture(code_of_place(place))) for place in places]


def _plain(code: str) -> str:
    return "".join(letter for letter in code.casefold() if letter.isalnum())
