"""The walk through one deviation as its page shows it: each step with its history and the form to add to it."""

from dataclasses import dataclass
from uuid import UUID

from django import forms

from haccp.deviations.forms import DispositionForm, StepForm
from haccp.deviations.models import CorrectiveStep, ImplicatedLot
from haccp.deviations.queries import Guide

Kind = CorrectiveStep.Kind
TITLES = {
    Kind.CAUSE: "Cause",
    Kind.CORRECTION: "Correction: how control was regained",
    Kind.PREVENTION: "Prevention",
    Kind.REASSESSMENT: "The plan: did it foresee this?",
}


@dataclass(frozen=True, slots=True)
class Stage:
    """A step, or the disposition of one lot. current: the entry that counts. earlier: what it replaced, oldest first.

    form: None where nothing may be added. is_refused: its form came back with errors, and is shown open.
    """

    key: str
    title: str
    current: CorrectiveStep | None
    earlier: tuple[CorrectiveStep, ...]
    form: forms.Form | None
    implicated: ImplicatedLot | None = None

    @property
    def is_refused(self) -> bool:
        return self.form is not None and self.form.is_bound


@dataclass(frozen=True, slots=True)
class Walk:
    cause: Stage
    correction: Stage
    dispositions: tuple[Stage, ...]
    prevention: Stage
    reassessment: Stage


def stage_key(kind: str, lot_id: UUID | None) -> str:
    return f"{kind}-{lot_id}" if lot_id else kind


def walk(led: Guide, *, editable: bool, refused: forms.Form | None = None, refused_key: str = "") -> Walk:
    """refused: a form that came back, in place of the fresh one at refused_key."""

    def form_for(key: str, fresh: forms.Form) -> forms.Form | None:
        if not editable:
            return None
        return refused if refused is not None and key == refused_key else fresh

    def stage(kind: str) -> Stage:
        entries = [step for step in led.steps if step.kind == kind]
        form = form_for(kind, StepForm(kind=kind, auto_id=f"{kind}_%s"))
        return Stage(kind, TITLES[Kind(kind)], entries[-1] if entries else None, tuple(entries[:-1]), form)

    def of_lot(one: ImplicatedLot) -> Stage:
        entries = [step for step in led.steps if step.lot_id == one.lot_id]
        key = stage_key(Kind.DISPOSITION, one.lot_id)
        form = form_for(key, DispositionForm(lot_id=one.lot_id, auto_id=f"{key}_%s"))
        return Stage(key, one.lot.code, entries[-1] if entries else None, tuple(entries[:-1]), form, one)

    return Walk(
        stage(Kind.CAUSE),
        stage(Kind.CORRECTION),
        tuple(of_lot(one) for one in led.implicated),
        stage(Kind.PREVENTION),
        stage(Kind.REASSESSMENT),
    )
