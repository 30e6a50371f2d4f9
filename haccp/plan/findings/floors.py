"""What the law of a jurisdiction demands at least, behind an interface that other sources can fill."""

from dataclasses import dataclass
from typing import Protocol

from haccp.science.errors import InputError
from haccp.science.heat import legal

NOISE_C = 1e-9


@dataclass(frozen=True, slots=True)
class HeatFloor:
    """A pair that the law accepts. temperature_c: the lowest that it takes. equivalent: see LegalPair."""

    temperature_c: float
    hold_s: float
    clause: str
    equivalent: str = ""

    def is_met_by(self, low_c: float, hold_s: float) -> bool:
        return low_c >= self.temperature_c - NOISE_C and hold_s >= self.hold_s - NOISE_C


@dataclass(frozen=True, slots=True)
class AgeingFloor:
    days: int
    temperature_c: float | None
    clause: str


@dataclass(frozen=True, slots=True)
class Ban:
    """Law that no plan for such a cheese can meet. rule: in words; entry: the library's id of it."""

    rule: str
    clause: str
    entry: str = ""


class LegalFloors(Protocol):
    def heat(
        self, *, jurisdiction: str, treatment: str, species: str, milk_fat_percent: float
    ) -> tuple[HeatFloor, ...]:
        """Pairs of which one suffices; empty where the law names none for this treatment."""
        ...

    def ageing(
        self, *, jurisdiction: str, treatment: str, species: str, family: str = "", herds_free: bool | None = None
    ) -> AgeingFloor | None:
        """The least ageing of cheese of milk so treated; None where the law names none. herds_free: None = not said."""
        ...

    def bans(
        self, *, jurisdiction: str, treatment: str, species: str, family: str, herds_free: bool | None
    ) -> tuple[Ban, ...]:
        """What the law does not let be made of such milk at all."""
        ...


_US_AGEING = "21 CFR 133.182(a), 133.113(a)(1), 133.150(a), 133.187(a)"
_CA_AGEING = "Food and Drug Regulations B.08.030(1), B.08.043, B.08.044"
_AU_AGEING = "Food Standards Code, Standard 4.2.4, clause 16(1)(b)"
# 35 °F is 1.7 °C. All three texts were read; the United States' and Canada's speak of all milk that is not pasteurised.
_AGEING: dict[tuple[str, str], AgeingFloor] = {
    ("US", "raw"): AgeingFloor(60, 1.7, _US_AGEING),
    ("US", "thermised"): AgeingFloor(60, 1.7, _US_AGEING),
    ("CA", "raw"): AgeingFloor(60, 2.0, _CA_AGEING),
    ("CA", "thermised"): AgeingFloor(60, 2.0, _CA_AGEING),
    ("AU", "thermised"): AgeingFloor(90, 7.0, _AU_AGEING),
}
_PROCESSES = {
    "pasteurised": (legal.Process.BATCH, legal.Process.CONTINUOUS),
    "thermised": (legal.Process.THERMISATION,),
}


class PublishedFloors:
    """From haccp.science.heat.legal, and the ageing rules above: for plans that are examined without a library."""

    def heat(
        self, *, jurisdiction: str, treatment: str, species: str, milk_fat_percent: float
    ) -> tuple[HeatFloor, ...]:
        try:
            pairs = legal.required(jurisdiction, fat_percent=milk_fat_percent)
        except InputError:  # no pair on file for this jurisdiction
            return ()
        wanted = _PROCESSES.get(treatment, ())
        return tuple(
            HeatFloor(pair.lowest_c, pair.hold_s, pair.clause, pair.equivalent)
            for pair in pairs
            if pair.process in wanted
        )

    def bans(
        self, *, jurisdiction: str, treatment: str, species: str, family: str, herds_free: bool | None
    ) -> tuple[Ban, ...]:
        return ()

    def ageing(
        self, *, jurisdiction: str, treatment: str, species: str, family: str = "", herds_free: bool | None = None
    ) -> AgeingFloor | None:
        return _AGEING.get((jurisdiction, treatment))
