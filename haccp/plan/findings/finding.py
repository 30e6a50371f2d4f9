"""What a finding is, and the registry of rules that make them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from haccp.plan.document.document import KIND_WORDS, kind_name
from haccp.plan.document.parts import Part
from haccp.plan.findings.examined import Examined


class Severity(StrEnum):
    BLOCKS = "blocks"  # no approval while it stands
    WARNS = "warns"
    NOTES = "notes"


# Rules that are put right among the dairy's places and instruments rather than in the plan.
_OF_THE_DAIRY = frozenset(
    {"check.instrument_not_owned", "check.instrument_unfit", "check.instrument_too_coarse", "check.place_retired"}
)
_ORDER = {Severity.BLOCKS: 0, Severity.WARNS: 1, Severity.NOTES: 2}


@dataclass(frozen=True, slots=True)
class Found:
    """One place that breaks a rule. part: None for the whole plan. remedy: the rule's own when empty."""

    part: Part | None
    sentence: str
    remedy: str = ""


Examine = Callable[[Examined], Iterator[Found]]


@dataclass(frozen=True, slots=True)
class Rule:
    """id: stable, of the form subject.fault. clause: what it rests on. remedy: what to do."""

    id: str
    clause: str
    severity: Severity
    remedy: str
    examine: Examine


@dataclass(frozen=True, slots=True)
class Finding:
    """part_kind and part_key name the place ("" for the whole plan); place is its name in words."""

    rule: str
    clause: str
    severity: Severity
    part_kind: str
    part_key: str
    place: str
    sentence: str
    remedy: str

    @property
    def blocks(self) -> bool:
        return self.severity is Severity.BLOCKS

    @property
    def is_of_the_dairy(self) -> bool:
        return self.rule in _OF_THE_DAIRY

    def as_json(self) -> dict[str, Any]:
        return {
            "rule": self.rule,
            "severity": self.severity.value,
            "part": self.part_key,
            "sentence": self.sentence,
        }


RULES: dict[str, Rule] = {}


def rule(rule_id: str, clause: str, severity: Severity, *, remedy: str) -> Callable[[Examine], Examine]:
    """Registers a rule: a generator over the places that break it."""

    def register(examine: Examine) -> Examine:
        if rule_id in RULES:
            raise ValueError(f"There is already a rule {rule_id}.")
        RULES[rule_id] = Rule(rule_id, clause, severity, remedy, examine)
        return examine

    return register


def findings_of(rule_: Rule, plan: Examined) -> Iterator[Finding]:
    for found in rule_.examine(plan):
        kind = kind_name(found.part) if found.part else ""
        yield Finding(
            rule_.id,
            rule_.clause,
            rule_.severity,
            kind,
            found.part.key if found.part else "",
            f"{KIND_WORDS[kind]} “{found.part.title}”" if found.part else "the plan",
            found.sentence,
            found.remedy or rule_.remedy,
        )


def in_order(findings: list[Finding]) -> list[Finding]:
    """Those that block first; within a severity in the order of the rules."""
    return sorted(findings, key=lambda finding: _ORDER[finding.severity])
