"""GS1 numbers, element strings and Digital Links of batches, places and instruments.

GS1 General Specifications and GS1 Digital Link: URI Syntax, as the library biip reads and writes them. A batch is
(01) GTIN with (10) batch number; a place (414) GLN with (254) extension; an instrument (8004) individual asset.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote

from biip import ParseError
from biip.gln import Gln
from biip.gs1_digital_link_uris import GS1DigitalLinkURI
from biip.gs1_messages import GS1Message
from biip.gtin import Gtin

from haccp.science.errors import InputError

GTIN, BATCH, PLACE, EXTENSION, ASSET, WEIGHT_KG, BEST_BEFORE = "01", "10", "414", "254", "8004", "310", "15"
FNC1 = "\x1d"
# Character set 82 of the General Specifications, which batch numbers and extensions are made of.
_SET_82 = re.compile(r"""[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+""")
LONGEST_BATCH, LONGEST_EXTENSION, LONGEST_ASSET = 20, 20, 30


@dataclass(frozen=True, slots=True)
class Named:
    """What a label names. qualifier: the batch number, or the extension of a place; "" where there is none."""

    identifier: str
    value: str
    qualifier: str = ""


def read_gtin(text: str) -> str:
    """A GTIN-8, -12, -13 or -14, blanks left out, as 14 digits. Raises InputError for another length or check digit."""
    digits = re.sub(r"[\s-]", "", text)
    try:
        return Gtin.parse(digits).as_gtin_14()
    except (ParseError, ValueError) as error:
        raise InputError(
            f"“{text.strip()}” is not a GTIN.",
            remedy="Give its 8, 12, 13 or 14 digits with the check digit at the end.",
        ) from error


def read_gln(text: str) -> str:
    """A GLN of 13 digits. Raises InputError for another length or check digit."""
    digits = re.sub(r"[\s-]", "", text)
    try:
        return Gln.parse(digits).value
    except (ParseError, ValueError) as error:
        raise InputError(
            f"“{text.strip()}” is not a GLN.", remedy="Give its 13 digits with the check digit at the end."
        ) from error


def fits(text: str, longest: int) -> bool:
    """Whether a batch number, an extension or an asset reference may stand on a label as it is."""
    return len(text) <= longest and _SET_82.fullmatch(text) is not None


def link(stem: str, named: Named) -> str:
    """An uncompressed Digital Link under a stem such as https://dairy.example/id (no slash at the end).

    Raises InputError for a value or qualifier that the standard does not allow.
    """
    qualifier = {GTIN: BATCH, PLACE: EXTENSION}.get(named.identifier)
    path = f"/{named.identifier}/{quote(named.value, safe='')}"
    if named.qualifier and qualifier:
        path += f"/{qualifier}/{quote(named.qualifier, safe='')}"
    uri = f"{stem.rstrip('/')}{path}"
    read_link(uri)
    return uri


def read_link(uri: str) -> Named:
    """Raises InputError for what is no Digital Link, or names something else than a batch, a place or an asset."""
    try:
        parsed = GS1DigitalLinkURI.parse(uri)
    except (ParseError, ValueError) as error:
        raise InputError("This is not a GS1 Digital Link.", remedy="Scan the label again.") from error
    return _named({one.ai.ai: one.value for one in parsed.element_strings})


def read_element_string(scanned: str) -> Named:
    """From what a scanner gives: with FNC1 as the group separator (U+001D), or in brackets as people read it."""
    try:
        found = GS1Message.parse_hri(scanned) if scanned.startswith("(") else GS1Message.parse(scanned)
    except (ParseError, ValueError) as error:
        raise InputError("This is not a GS1 element string.", remedy="Scan the label again.") from error
    return _named({one.ai.ai: one.value for one in found.element_strings})


def in_brackets(named: Named) -> str:
    """The element string as it is printed beneath a code: (01)09506000134352(10)ABC."""
    qualifier = {GTIN: BATCH, PLACE: EXTENSION}.get(named.identifier, "")
    tail = f"({qualifier}){named.qualifier}" if named.qualifier else ""
    return f"({named.identifier}){named.value}{tail}"


def _named(found: Mapping[str, str]) -> Named:
    for identifier, qualifier in ((GTIN, BATCH), (PLACE, EXTENSION), (ASSET, "")):
        if identifier in found:
            # The library keeps a wrong check digit and notes it beside; a label with one names nothing.
            {GTIN: read_gtin, PLACE: read_gln}.get(identifier, str)(found[identifier])
            return Named(identifier, found[identifier], found.get(qualifier, ""))
    raise InputError("This label names no batch, place or instrument.", remedy="Scan the label of one of those.")
