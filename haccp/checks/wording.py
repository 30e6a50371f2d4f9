"""The words and signs that stand for a ruling on page and paper."""

from dataclasses import dataclass

from haccp.science.ruling import Ruling


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
