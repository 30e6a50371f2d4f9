"""Published time-temperature pairs by jurisdiction, each with its clause and how it is known.

Figures in our own words; not legal advice. Not held here, since their text was not read: the Australian high
temperature curd cook, and plant guidance that is stricter than the Canadian definition.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from haccp.science.errors import InputError
from haccp.science.units import to_si

RICH_FAT_PERCENT = 10.0


class Process(StrEnum):
    BATCH = "batch"  # in a vat
    CONTINUOUS = "continuous"
    THERMISATION = "thermisation"


@dataclass(frozen=True, slots=True)
class LegalPair:
    """temperature_f: where the law prints both scales; else None. is_bumped: already raised.

    bump_c / bump_f: what the row is raised by for fat of 10 % and more or added sweetener, 0 where it is not.
    known: "read", "secondary" (somebody's account of it was read) or "memory". then: what the law asks for afterwards.
    equivalent: how the law words that another pair of equal effect will do; "" where it does not.
    """

    jurisdiction: str
    process: Process
    temperature_c: float
    temperature_f: float | None
    hold_s: float
    bump_c: float
    bump_f: float
    clause: str
    known: str
    then: str = ""
    equivalent: str = ""
    is_bumped: bool = False

    @property
    def lowest_c(self) -> float:
        """The lowest temperature that the row accepts: two printed scales differ a little (145 °F is 62.8 °C)."""
        if self.temperature_f is None:
            return self.temperature_c
        return min(self.temperature_c, to_si("temperature", self.temperature_f, "°F"))

    def bumped(self) -> "LegalPair":
        """The row for rich or sweetened milk; itself where the row is not raised."""
        if self.bump_c == 0:
            return self
        raised_f = None if self.temperature_f is None else self.temperature_f + self.bump_f
        return replace(self, temperature_c=self.temperature_c + self.bump_c, temperature_f=raised_f, is_bumped=True)


_US = "21 CFR 1240.61(b)"
_US_BUMP = "21 CFR 1240.61(b) and its footnote 1"
_MI = "MCL 288.697"
_EU = "Regulation (EC) 853/2004, Annex III, section IX, chapter II, part II"
_EU_THEN = "alkaline phosphatase negative at once afterwards"
_EU_EQUAL = "another pair of equivalent effect"

# 21 CFR 1240.61(b): °C, °F, s, raised for fat or sweetener (the footnote stands on the first two rows only).
# 21 CFR 131.3 in older editions lacks the rows of 90 °C and 94 °C; 1240.61 has all seven since 1992.
_US_ROWS = (
    (63.0, 145.0, 1800.0, True),
    (72.0, 161.0, 15.0, True),
    (89.0, 191.0, 1.0, False),
    (90.0, 194.0, 0.5, False),
    (94.0, 201.0, 0.1, False),
    (96.0, 204.0, 0.05, False),
    (100.0, 212.0, 0.01, False),
)


def _vat_or_flow(hold_s: float) -> Process:
    return Process.BATCH if hold_s >= 1800 else Process.CONTINUOUS


def _united_states() -> list[LegalPair]:
    return [
        LegalPair(
            "US",
            _vat_or_flow(hold_s),
            celsius,
            fahrenheit,
            hold_s,
            3.0 if raised else 0.0,
            5.0 if raised else 0.0,
            _US_BUMP if raised else _US,
            "read",
        )
        for celsius, fahrenheit, hold_s, raised in _US_ROWS
    ]


def _michigan() -> list[LegalPair]:
    """Michigan raises every row (92 °C/1 s, 93 °C/0.5 s, 97 °C/0.1 s, 99 °C/0.05 s, 103 °C/0.01 s)."""
    return [
        LegalPair("US-MI", _vat_or_flow(hold_s), celsius, fahrenheit, hold_s, 3.0, 5.0, _MI, "read")
        for celsius, fahrenheit, hold_s, _ in _US_ROWS
    ]


def _plain(
    jurisdiction: str,
    process: Process,
    temperature_c: float,
    hold_s: float,
    clause: str,
    known: str,
    then: str = "",
    equivalent: str = "",
) -> LegalPair:
    return LegalPair(jurisdiction, process, temperature_c, None, hold_s, 0.0, 0.0, clause, known, then, equivalent)


LEGAL_PAIRS: tuple[LegalPair, ...] = (
    *_united_states(),
    *_michigan(),
    _plain("EU", Process.BATCH, 63.0, 1800.0, _EU, "secondary", _EU_THEN, _EU_EQUAL),
    _plain("EU", Process.CONTINUOUS, 72.0, 15.0, _EU, "secondary", _EU_THEN, _EU_EQUAL),
    _plain("UK", Process.BATCH, 63.0, 1800.0, f"retained {_EU}", "memory", _EU_THEN, _EU_EQUAL),
    _plain("UK", Process.CONTINUOUS, 72.0, 15.0, f"retained {_EU}", "memory", _EU_THEN, _EU_EQUAL),
    _plain(
        "AU",
        Process.CONTINUOUS,
        72.0,
        15.0,
        "Food Standards Code, Standard 4.2.4, clause 15",
        "secondary",
        "cooled at once, so that hazards do not grow",
        "another pair of equal or greater lethal effect",
    ),
    # In force since 28 June 2012; the 62 °C/15 s of Standard 1.6.2 is the older rule.
    _plain(
        "AU",
        Process.THERMISATION,
        64.5,
        16.0,
        "Food Standards Code, Standard 4.2.4, clause 16(1)(b)",
        "read",
        "the cheese stored at 7 °C or above for 90 days or more",
    ),
    _plain(
        "CA",
        Process.BATCH,
        61.6,
        1800.0,
        "Food and Drug Regulations B.08.030(1), “pasteurized source”",
        "read",
        equivalent="what destroys as much phosphatase by the official method",
    ),
)

JURISDICTIONS: tuple[str, ...] = tuple(dict.fromkeys(pair.jurisdiction for pair in LEGAL_PAIRS))


def required(
    jurisdiction: str,
    process: Process | str | None = None,
    *,
    fat_percent: float,
    sweetened: bool = False,
    temperature_c: float | None = None,
) -> tuple[LegalPair, ...]:
    """The pairs that the law of a jurisdiction holds sufficient, raised where the milk is rich or sweetened.

    process: None for all. fat_percent: g/100 g of the milk treated.
    temperature_c: None for every row; else the one row of shortest time that a treatment this warm can use.
    InputError for a jurisdiction, a process or a temperature with no published row, and for a fat that cannot be.
    """
    if not 0 <= fat_percent <= 100:
        raise InputError("The fat of the milk lies between 0 and 100 %.", remedy="Type it in g per 100 g.")
    rows = [pair for pair in LEGAL_PAIRS if pair.jurisdiction == jurisdiction]
    if not rows:
        raise InputError(
            f"No heat treatment is on file for “{jurisdiction}”.", remedy=f"Use one of: {', '.join(JURISDICTIONS)}."
        )
    rows = [pair for pair in rows if process is None or pair.process == process]
    if not rows:
        known = sorted({p.process.value for p in LEGAL_PAIRS if p.jurisdiction == jurisdiction})
        raise InputError(
            f"{jurisdiction} has no published pair for “{process}”.", remedy=f"It has: {', '.join(known)}."
        )
    if sweetened or fat_percent >= RICH_FAT_PERCENT:
        rows = [pair.bumped() for pair in rows]
    return tuple(rows) if temperature_c is None else (_usable(rows, temperature_c),)


def _usable(rows: list[LegalPair], temperature_c: float) -> LegalPair:
    warm_enough = [pair for pair in rows if temperature_c >= pair.lowest_c - 1e-9]
    if not warm_enough:
        lowest = min(pair.temperature_c for pair in rows)
        raise InputError(
            f"No published pair reaches down to {temperature_c:.1f} °C.", remedy=f"The lowest is {lowest:.1f} °C."
        )
    return min(warm_enough, key=lambda pair: pair.hold_s)
