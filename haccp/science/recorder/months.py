"""Months that stand as words, in the languages around us, written as the number that is meant."""

import re

_NAMES = (
    "jan january januar janvier enero ene gennaio gen januari",
    "feb february februar février fév fevrier febrero febbraio februari",
    "mar march märz mär mrz mars marzo maart",
    "apr april avril abril abr aprile",
    "may mai mayo maggio mag mei",
    "jun june juni juin junio giugno giu",
    "jul july juli juillet juil julio luglio lug",
    "aug august août aout agosto ago augustus",
    "sep sept september septembre septiembre settembre set",
    "oct october oktober okt octobre octubre ottobre ott",
    "nov november novembre noviembre",
    "dec december dezember dez décembre déc decembre diciembre dic dicembre",
)
_NUMBER = {name: number for number, names in enumerate(_NAMES, start=1) for name in names.split()}
_DATE = re.compile(
    r"\b(?P<day>[0-9]{1,2})(?P<mark>\. ?| |-|/)(?P<month>"
    + "|".join(sorted(_NUMBER, key=len, reverse=True))
    + r")\.?(?:[ \-/])(?P<year>[0-9]{4})\b",
    re.IGNORECASE,
)
_LOOKED_AT = 20_000  # characters: where no month is a word there, none is


def as_numbers(text: bytes) -> bytes:
    """ "10 Mar 2026" as "10.03.2026": day before month, as the dots say. text: UTF-8; the same where none is."""
    if _DATE.search(text[:_LOOKED_AT].decode(errors="ignore")) is None:
        return text
    return _DATE.sub(_dotted, text.decode(errors="surrogateescape")).encode(errors="surrogateescape")


def _dotted(found: re.Match[str]) -> str:
    return f"{int(found['day']):02d}.{_NUMBER[found['month'].casefold()]:02d}.{found['year']}"
