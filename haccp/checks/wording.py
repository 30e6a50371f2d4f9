"""The words and signs that stand for a ruling on page and paper."""

from collections.abc import Iterable
from dataclasses import dataclass

from haccp.plan.models import CriticalLimit
from haccp.science.ruling import Ruling
from haccp.science.units import show, spell_duration


@dataclass(frozen=True, slots=True)
class RulingWord:
    word: str
    sign: str  # printable in black and white, in any embedded font


RULING_WORDS: dict[str, RulingWord] = {
    Ruling.MET: RulingWord("met", "✓"),
    Ruling.CLOSE: RulingWord("met, but close", "≈"),
    Ruling.BREACHED: RulingWord("breached", "✗"),
    Ruling.UNPROVEN: RulingWord("unproven", "?"),
    Ruling.AWAITED: RulingWord("not yet decided", "…"),
}

# What is said first where there is room for one ruling only.
WORST_FIRST = (Ruling.BREACHED, Ruling.UNPROVEN, Ruling.AWAITED, Ruling.CLOSE, Ruling.MET)


def worst(rulings: Iterable[str]) -> str:
    """The ruling that speaks for several; "" for none."""
    there = set(rulings)
    return next((ruling for ruling in WORST_FIRST if ruling in there), "")


def target_words(limit: CriticalLimit, unit: str = "") -> str:
    """The target that warns before the limit, in words; "" where it has none. unit: to show it in."""
    low, high = (
        None if value is None else show(limit.quantity, value, unit or limit.unit)
        for value in (limit.target_low, limit.target_high)
    )
    hold_s, within_s = limit.parameters.get("target_hold_s"), limit.parameters.get("target_within_s")
    parts = []
    if low and high:
        parts.append(f"{low} to {high}")
    elif low or high:
        parts.append(f"at least {low}" if low else f"at most {high}")
    if hold_s:
        parts.append(f"for {spell_duration(hold_s)}")
    if within_s:
        parts.append(f"within {spell_duration(within_s)}")
    return " ".join(parts)
