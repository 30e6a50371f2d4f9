"""What stands in a laboratory's report, as a count or as found or not found."""

import re

from haccp.science.errors import InputError
from haccp.science.sampling.plans import Count

HIGHEST = 1e12
_SIGN = re.compile(r"^(?P<sign>[<>≤≥~=]|&lt;|&gt;|less than|more than)?\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_POWER = re.compile(
    r"^(?P<digits>\d+(?:[.,]\d+)?)\s*(?:[x×*·]\s*10\s*(?:\^|\*\*)?\s*(?P<power>[+-]?\d{1,2}|[⁰¹²³⁴⁵⁶⁷⁸⁹]+)|e(?P<e>[+-]?\d{1,2}))?$",
    re.IGNORECASE,
)
_UNIT = re.compile(
    r"\s*(?:cfu|kbe|ufc|kve)?\s*(?:/|per\s+)\s*(?:g|ml|cm²|cm2|25\s*g)$|\s*(?:cfu|kbe|ufc|kve)$", re.IGNORECASE
)
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
_GROUPED = re.compile(r"\d{1,3}(?:[ \u00a0\u202f,.']\d{3})+")
_AMBIGUOUS = re.compile(r"\d{1,3}[,.]\d{3}")

NOT_FOUND = frozenset(
    ("not detected", "nd", "n.d", "n d", "absent", "absence", "negative", "neg", "none", "not found", "-", "no",
     "undetected", "nicht nachgewiesen")
)  # fmt: skip
FOUND = frozenset(("detected", "present", "presence", "positive", "pos", "found", "+", "yes", "nachgewiesen"))
# A report on Listeria spp. may name the species that it found.
_LISTERIA = re.compile(r"^(?:l\.|listeria)\s*(?:spp\.?|species|(?P<mono>monocytogenes))\s*:?\s+", re.IGNORECASE)
_IN_AMOUNT = re.compile(r"\s*(?:/|in)\s*\d+\s*(?:g|ml)$", re.IGNORECASE)


def read_count(text: str) -> Count:
    """“120”, “< 10”, “> 300 000”, “1.5e4”, “2.3 × 10^4 cfu/g” as a count.

    InputError for nothing, for words, for a number that can be read in two ways (“1,200” or “1.200”), for a
    negative one and for one that no plate can hold. “~” and “=” are passed over: an estimate is taken at its number.
    """
    bare = _UNIT.sub("", text.strip())
    match = _SIGN.match(bare)
    assert match is not None
    sign, rest = (match["sign"] or "").lower(), match["rest"].strip()
    if not rest:
        raise InputError("No count was given.", remedy="Type it as the report has it, for example 120 or < 10.")
    value = _number(text, rest)
    if value > HIGHEST:
        raise InputError(f"“{text.strip()}” is more than a sample can hold.", remedy="Read the report again.")
    if sign in ("<", "≤", "&lt;", "less than"):
        return Count.below(value)
    if sign in (">", "≥", "&gt;", "more than"):
        return Count.above(value)
    return Count.exactly(value)


def _number(text: str, rest: str) -> float:
    if rest.startswith(("-", "−")):
        raise InputError(f"“{text.strip()}” is less than nothing.", remedy="Type the laboratory's number.")
    if _AMBIGUOUS.fullmatch(rest):
        plain, decimal = re.sub(r"[,.]", "", rest), rest.replace(",", ".")
        raise InputError(
            f"“{rest}” can be read as {plain} or as {decimal}.", remedy=f"Type {plain} without the mark, or 1.2e3."
        )
    digits = re.sub(r"[ \u00a0\u202f,.']", "", rest) if _GROUPED.fullmatch(rest) else rest
    match = _POWER.fullmatch(digits)
    if match is None:
        raise InputError(
            f"“{text.strip()}” is not a count.", remedy="Type it as the report has it, for example 120, < 10 or 1.5e4."
        )
    power = match["e"] or (match["power"] or "0").translate(_RAISED)
    return float(f"{match['digits'].replace(',', '.')}e{power}")


def read_detection(text: str) -> bool:
    """True for found, False for not found, in the words of a report. InputError for anything else.

    “Listeria monocytogenes detected” is read as well; `names_monocytogenes` tells it from other species.
    """
    bare = _IN_AMOUNT.sub("", _LISTERIA.sub("", " ".join(text.lower().split()))).strip(" .!") or text.strip()
    if bare in NOT_FOUND:
        return False
    if bare in FOUND:
        return True
    raise InputError(
        f"“{text.strip()}” says neither found nor not found." if text.strip() else "No result was given.",
        remedy="Choose “detected” or “not detected”.",
    )


def names_monocytogenes(text: str) -> bool:
    """Whether a result names Listeria monocytogenes as what was looked for or found."""
    match = _LISTERIA.match(" ".join(text.split()) + " ")
    return match is not None and match["mono"] is not None
