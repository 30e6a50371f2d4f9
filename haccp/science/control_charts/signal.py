"""What a control chart says, in words."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Signal:
    """index: of the point at which it is seen, from 0. code: stable dotted code. sentence: for a person."""

    index: int
    code: str
    sentence: str


def side(is_above: bool) -> str:
    return "above" if is_above else "below"
