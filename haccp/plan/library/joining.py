"""One more cheese joined to a plan: what both share stays as it was edited, the rest is added for the new cheese alone.

Shared are steps of the same name and kind, programmes and control points of the same name at the same step, hazards of
the same agent at a shared step that are as significant, and limits and checks that are the same to the letter. A limit,
step or check that spoke of all cheeses without saying so is narrowed to those that were there: it was never meant
for the new one.
"""

import dataclasses
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from haccp.plan.document import KIND_WORDS, Part, PlanDocument, kind_name
from haccp.plan.document.own_review import is_review
from haccp.plan.document.parts import Check, ControlPoint, CriticalLimit, Hazard, OpenJudgement, Step
from haccp.plan.document.shape import Form, specs_of
from haccp.science import flow

_SHARED = ("steps", "hazards", "control_points", "checks")
_COUNTED = ("steps", "hazards", "control_points", "limits", "checks", "judgements")


@dataclass(frozen=True, slots=True)
class Joined:
    """added: new parts. changed: parts of the plan that now speak of the new cheese too, or no longer of all.
    order: keys of all steps in the order of the flow. summary: what happened, in words."""

    document: PlanDocument
    added: tuple[Part, ...]
    changed: tuple[Part, ...]
    order: tuple[str, ...]
    summary: str


def join(plan: PlanDocument, other: PlanDocument) -> Joined:
    """other: a plan of one cheese (its first product) that is not in plan yet. Nothing of plan is taken away."""
    joint = _join(plan, other, share_steps=True)
    if flow.cycles(joint.document.flow):
        # The two cheeses pass the same steps in another order: each keeps steps of its own.
        joint = _join(plan, other, share_steps=False)
    return joint


def _join(plan: PlanDocument, other: PlanDocument, *, share_steps: bool) -> Joined:
    joint = _Joint(plan, other)
    joint.steps(share_steps)
    joint.hazards()
    joint.control_points()
    joint.limits()
    joint.checks()
    joint.the_rest()
    joint.narrow()
    others = (product for product in plan.products if product.code != joint.code)
    document = dataclasses.replace(plan, products=(*others, other.products[0]))
    for part in (*joint.added, *joint.changed.values()):
        document = document.with_part(part)
    document = document.in_reading_order()
    return Joined(document, tuple(joint.added), tuple(joint.changed.values()), _order(document), _summary(joint, other))


@dataclass
class _Joint:
    """key_of: key of a part of other -> the key under which it stands in the joint plan."""

    plan: PlanDocument
    other: PlanDocument
    added: list[Part] = field(default_factory=list)
    changed: dict[str, Part] = field(default_factory=dict)
    key_of: dict[str, str] = field(default_factory=dict)
    shared: set[str] = field(default_factory=set)

    @property
    def code(self) -> str:
        return self.other.products[0].code

    @property
    def codes_before(self) -> tuple[str, ...]:
        return tuple(product.code for product in self.plan.products if product.code != self.code)

    def steps(self, share: bool) -> None:
        there = {(step.name.casefold(), step.kind): step for step in self.plan.steps} if share else {}
        ends = {(step.name.casefold(), step.kind): step for step in self.plan.steps if step.kind != "operation"}
        last = max((step.position for step in self.plan.steps), default=0)
        for step in self.other.steps:
            same = (there or ends).get((step.name.casefold(), step.kind))
            if same is not None:
                self._share(step, same)
                self._speak_of_it_too(same)
            else:
                last += 1
                self._add(dataclasses.replace(step, position=last, products=(self.code,)))

    def hazards(self) -> None:
        """A hazard that weighs otherwise for the new cheese is a hazard of its own, so that neither hides the other."""
        there = {self._of_hazard(hazard): hazard for hazard in self.plan.hazards}
        for hazard in self.other.hazards:
            moved = dataclasses.replace(hazard, step=self.key_of[hazard.step])
            same = there.get(self._of_hazard(moved))
            if same is not None and same.significant == hazard.significant:
                self._share(hazard, same)
            elif same is not None:
                self._add(dataclasses.replace(moved, name=f"{moved.name} ({self.other.products[0].name})"[:120]))
            else:
                self._add(moved)

    @staticmethod
    def _of_hazard(hazard: Hazard) -> tuple[str, ...]:
        return hazard.step, hazard.kind, (hazard.agent or hazard.name).casefold()

    def control_points(self) -> None:
        there = {self._of_point(point): point for point in self.plan.control_points}
        taken = {point.code for point in self.plan.control_points}
        review = {check.control_point for check in self.other.checks if is_review(check)}
        has_review = any(is_review(check) for check in self.plan.checks)
        for point in self.other.control_points:
            if point.key in review and has_review:
                continue
            moved = self._moved(point)
            same = there.get(self._of_point(moved))
            if same is not None:
                self._share(point, same)
                hazards = tuple(sorted({*same.hazards, *moved.hazards}))
                if hazards != tuple(sorted(same.hazards)):
                    self._change(dataclasses.replace(same, hazards=hazards))
            else:
                code = point.code if point.code not in taken else _free_code(point.code, taken)
                taken.add(code)
                self._add(dataclasses.replace(moved, code=code))

    @staticmethod
    def _of_point(point: ControlPoint) -> tuple[str, ...]:
        return point.kind, point.step or "", point.name.casefold()

    def limits(self) -> None:
        there = {self._of_limit(limit): limit for limit in self.plan.limits}
        for limit in self.other.limits:
            moved = self._moved(limit)
            same = there.get(self._of_limit(moved))
            if same is not None:
                self._share(limit, same)
                self._speak_of_it_too(same)
            else:
                is_of_a_shared_point = limit.control_point in self.shared
                only = (self.code,) if limit.products or is_of_a_shared_point else ()
                self._add(dataclasses.replace(moved, products=only))

    @staticmethod
    def _of_limit(limit: CriticalLimit) -> tuple[object, ...]:
        return (
            limit.control_point, limit.quantity, limit.evaluator, limit.comparator, limit.low, limit.high,
            limit.accepted, repr(sorted(limit.parameters.items())),
        )  # fmt: skip

    def checks(self) -> None:
        asked = {
            key: tuple((m.label, m.kind, m.quantity) for m in _in_order(document, key))
            for document in (self.plan, self.other)
            for key in (check.key for check in document.checks)
        }

        def of(check: Check, original: str) -> tuple[object, ...]:
            return (
                check.control_point, check.name.casefold(), check.subject, check.place, check.instrument_kind,
                repr(sorted(check.cadence.items())), asked[original],
            )  # fmt: skip

        there = {of(check, check.key): check for check in self.plan.checks}
        for check in self.other.checks:
            if check.control_point not in self.key_of:
                continue  # of the review, which the plan has already
            moved = self._moved(check)
            same = there.get(of(moved, check.key))
            if same is None:
                self._add(moved)
                for measure in _in_order(self.other, check.key):
                    self._add(self._moved(measure))
                continue
            self._share(check, same)
            self._speak_of_it_too(same)
            for measure, kept in zip(_in_order(self.other, check.key), _in_order(self.plan, same.key), strict=True):
                self._share(measure, kept)
                limits = tuple(sorted({*kept.limits, *(self.key_of[one] for one in measure.limits)}))
                if limits != tuple(sorted(kept.limits)):
                    self._change(dataclasses.replace(kept, limits=limits))

    def the_rest(self) -> None:
        """What hangs on a part that is new comes with it; what stands alone comes unless the plan says it already."""
        self._unless_there("risk_levels", lambda part: part.axis)
        self._unless_there("review_triggers", lambda part: part.kind)
        self._unless_there("documents", lambda part: part.name.casefold())
        at = self.key_of.get
        self._unless_there("materials", lambda part: (at(part.step, part.step), part.direction, part.name))
        self._unless_there("links", lambda link: (at(link.start, link.start), at(link.end, link.end), link.kind))
        pairs = {(one.hazard, one.step) for one in self.plan.decisions}
        controls = {(one.hazard, one.control_point, one.step) for one in self.plan.control_measures}
        for decision in self.other.decisions:
            moved = self._moved(decision)
            if (moved.hazard, moved.step) not in pairs:
                self._add(moved)
        for measure in self.other.control_measures:
            moved = self._moved(measure)
            if (moved.hazard, moved.control_point, moved.step) not in controls:
                self._add(moved)
        for kind in ("descriptions", "validations", "verifications"):
            for part in getattr(self.other, kind):
                owner = getattr(part, "limit", None) or getattr(part, "control_point", None)
                if owner is None or (owner in self.key_of and owner not in self.shared):
                    self._add(self._moved(part))
        for mark in self.other.borrowed:
            if mark.part in self.key_of and mark.part not in self.shared:
                self._add(dataclasses.replace(mark, part=self.key_of[mark.part]))
        self._questions()

    def _questions(self) -> None:
        name = self.other.products[0].name
        asked = {one.question for one in self.plan.judgements}
        for one in self.other.judgements:
            if one.part in self.shared and not self._is_critical(self.key_of[one.part]):
                continue
            again = one.part is None or one.part in self.shared or one.question in asked
            question = f"{name}: {one.question}" if again else one.question
            self._add(dataclasses.replace(one, part=self.key_of.get(one.part or ""), question=question))
        self._add(OpenJudgement(question=f"{name}: does the scope of the plan, in its own words, speak of it?"))

    def narrow(self) -> None:
        """What spoke of all cheeses spoke of those that were there."""
        kept: tuple[Step | CriticalLimit | Check, ...] = (
            *self.plan.steps,
            *(limit for limit in self.plan.limits if self._is_critical(limit.control_point)),
            *(check for check in self.plan.checks if check.subject == "batch"),
        )
        joined = set(self.key_of.values())
        for part in kept:
            if not part.products and part.key not in joined and self.codes_before:
                now = self.changed.get(part.key, part)
                self._change(dataclasses.replace(now, products=self.codes_before))  # type: ignore[arg-type]

    def _is_critical(self, point: str) -> bool:
        return any(one.key == point and one.is_critical for one in self.plan.control_points)

    def _speak_of_it_too(self, part: Step | CriticalLimit | Check) -> None:
        if part.products:
            now: Any = self.changed.get(part.key, part)
            self._change(dataclasses.replace(now, products=tuple(sorted({*now.products, self.code}))))

    def _unless_there(self, kind: str, of: Callable[[Any], object]) -> None:
        there = {of(part) for part in getattr(self.plan, kind)}
        for part in getattr(self.other, kind):
            if of(part) not in there:
                self._add(self._moved(part))

    def _moved(self, part: Any) -> Any:
        """The part with its references led to where they stand in the joint plan."""
        new: dict[str, object] = {}
        for name, spec in specs_of(type(part)).items():
            value = getattr(part, name)
            if spec.form is Form.PART and value is not None:
                new[name] = self.key_of.get(value, value)
            elif spec.form is Form.PARTS:
                new[name] = tuple(sorted({self.key_of.get(one, one) for one in value}))
        return dataclasses.replace(part, **new)

    def _share(self, part: Any, same: Any) -> None:
        self.key_of[part.key] = same.key
        self.shared.add(part.key)

    def _add(self, part: Any) -> None:
        self.key_of[part.key] = part.key
        self.added.append(part)

    def _change(self, part: Any) -> None:
        self.changed[part.key] = part


def _in_order(document: PlanDocument, check: str) -> list[Any]:
    return sorted((one for one in document.measures if one.check == check), key=lambda one: one.position)


def _free_code(code: str, taken: set[str]) -> str:
    word = code.rstrip("0123456789")
    return next(free for number in range(1, 1000) if (free := f"{word}{number}") not in taken)


def _order(document: PlanDocument) -> tuple[str, ...]:
    """Steps in the order of the flow; those beside one another as they stood."""
    layer_of = {key: number for number, layer in enumerate(flow.layers(document.flow)) for key in layer}
    steps = sorted(document.steps, key=lambda step: (layer_of.get(step.key, 0), step.position))
    return tuple(step.key for step in steps)


def _summary(joint: _Joint, other: PlanDocument) -> str:
    product = other.products[0]
    counts = Counter(kind_name(part) for part in joint.added)
    new = _listed(counts, _COUNTED)
    shared = _listed(Counter(other.kind_of[key] for key in joint.shared), _SHARED)
    narrowed = sum(getattr(joint.plan.by_key[key], "products", None) == () for key in joint.changed)
    words = f"{product.name} ({product.code}) added: {new}."
    if shared:
        words += f" Shared with what was there: {shared}."
    if narrowed:
        codes = ", ".join(joint.codes_before)
        words += f" Narrowed to {codes}, because it spoke of all cheeses: {narrowed} part{'s' if narrowed > 1 else ''}."
    return words


def _listed(counts: Counter[str], kinds: Iterable[str]) -> str:
    found = [f"{counts[kind]} {KIND_WORDS[kind]}{'s' if counts[kind] != 1 else ''}" for kind in kinds if counts[kind]]
    return ", ".join(found)
