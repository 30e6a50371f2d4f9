"""A control point with all that belongs to it, as it is handed to control_point_add."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from haccp.plan.models import Check, Hazard, ProcessStep, Product


@dataclass(frozen=True, slots=True)
class LimitDraft:
    """The fields of plan.CriticalLimit; key is how checks of the same draft name it."""

    key: str
    statement: str
    quantity: str
    evaluator: str
    comparator: str
    low: float | None = None
    high: float | None = None
    target_low: float | None = None
    target_high: float | None = None
    accepted: Sequence[str] = ()
    parameters: Mapping[str, Any] = field(default_factory=dict)
    unit: str = ""
    source_document: str = ""
    source_clause: str = ""
    products: Sequence[Product] = ()


@dataclass(frozen=True, slots=True)
class MeasureDraft:
    label: str
    kind: str
    quantity: str = ""
    unit: str = ""
    choices: Sequence[str] = ()
    required: bool = True
    limits: Sequence[str] = ()  # keys of LimitDraft


@dataclass(frozen=True, slots=True)
class CheckDraft:
    name: str
    subject: str
    cadence: Mapping[str, Any]
    measures: Sequence[MeasureDraft]
    how: str = ""
    who: str = ""
    place: Any = None
    instrument_kind: str = ""
    window_before_s: int = 3600
    grace_s: int = 3600
    products: Sequence[Product] = ()
    rests: str = Check.Rests.NEVER
    if_missed: str = Check.IfMissed.FLAGGED


@dataclass(frozen=True, slots=True)
class ControlPointDraft:
    code: str
    name: str
    kind: str
    corrective_action: str
    step: ProcessStep | None = None
    programme: str = ""
    verification: str = ""
    hazards: Sequence[Hazard] = ()
    limits: Sequence[LimitDraft] = ()
    checks: Sequence[CheckDraft] = ()
    disposition: str = ""
