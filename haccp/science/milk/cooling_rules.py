"""How fast milk must be cooled, by jurisdiction. Figures in our own words; not legal advice."""

from dataclasses import dataclass

from haccp.science.milk.cooling import CoolingRule


@dataclass(frozen=True, slots=True)
class PublishedCooling:
    """rule: None where the text sets a temperature “at once”, without a time; words say it. clock: "milking_began" or
    "milking_ended", what within_s counts from. known: "read", "secondary" (a text that quotes it) or "memory"."""

    jurisdiction: str
    words: str
    clause: str
    known: str
    clock: str = "milking_began"
    rule: CoolingRule | None = None


_EU = "Regulation (EC) 853/2004, Annex III, section IX, chapter I, part II.B"
_EU_WORDS = (
    "Cooled at once to at most 8 °C where milk is collected daily, else to at most 6 °C; at most 10 °C on arrival. "
    "No time is set; milk that is processed within 2 h of milking is exempt (exemption from memory)."
)
_PMO = "Grade “A” Pasteurized Milk Ordinance, table 1"
_H = 3600.0

COOLING: tuple[PublishedCooling, ...] = (
    PublishedCooling("EU", _EU_WORDS, _EU, "secondary"),
    PublishedCooling("UK", _EU_WORDS, f"retained {_EU}", "memory"),
    PublishedCooling(
        "US",
        "10 °C or colder within 4 h of the start of the first milking; the blend never above 10 °C.",
        _PMO,
        "secondary",
        rule=CoolingRule(10.0, 4 * _H, blend_c=10.0),
    ),
    PublishedCooling(
        "US",
        "7 °C or colder within 2 h after the end of milking.",
        _PMO,
        "secondary",
        clock="milking_ended",
        rule=CoolingRule(7.0, 2 * _H, blend_c=10.0),
    ),
    PublishedCooling(
        "AU",
        "5 °C or colder within 3.5 h of the start of milking (guideline).",
        "Guide to Food Standards Code, Standard 4.2.4",
        "secondary",
        rule=CoolingRule(5.0, 3.5 * _H),
    ),
)


def cooling_rules(jurisdiction: str) -> tuple[PublishedCooling, ...]:
    """Those of a jurisdiction; empty where none is on file."""
    return tuple(one for one in COOLING if one.jurisdiction == jurisdiction)
