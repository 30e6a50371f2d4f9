"""What differs between two plans, in plain words. Pure."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from haccp.plan.document import KIND_WORDS, KINDS, Part, PlanDocument
from haccp.plan.document.parts import Check, CriticalLimit, Verification
from haccp.plan.document.shape import Form, Spec, is_single, specs_of
from haccp.science.errors import InputError
from haccp.science.limit import Comparator
from haccp.science.schedule import describe
from haccp.science.units import show, spell_duration

NONE = "none"


class Change(StrEnum):
    ADDED = "added"
    REMOVED = "removed"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class FieldChange:
    """words: name of the field; old, new: as people read them."""

    words: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Difference:
    """One part that differs. kind, key: of the part ("" for the plan's own settings); products: codes that it speaks
    of, empty for all."""

    change: Change
    kind: str
    key: str
    title: str
    fields: tuple[FieldChange, ...] = ()
    products: tuple[str, ...] = ()

    @property
    def heading(self) -> str:
        """Of the kind that it belongs to."""
        words = KIND_WORDS[self.kind] if self.kind else "the plan itself"
        return words[:1].upper() + words[1:]

    @property
    def sentence(self) -> str:
        what = f"{KIND_WORDS[self.kind]} “{self.title}”" if self.kind else self.title
        if self.change is Change.ADDED:
            return f"New: {what}."
        if self.change is Change.REMOVED:
            return f"Gone: {what}."
        changes = "; ".join(f"{one.words}: {one.old} → {one.new}" for one in self.fields)
        return f"{what[:1].upper()}{what[1:]}: {changes}."


def differences(old: PlanDocument, new: PlanDocument) -> list[Difference]:
    """Added, removed and changed parts, kind by kind in the order of the plan. Empty for plans that say the same."""
    found = list(_of_the_plan(old, new))
    matched = {kind: _matched(kind, old, new) for kind in KINDS}
    same = {after.key: before.key for pairs, _, _ in matched.values() for before, after in pairs}
    for kind, (pairs, gone, fresh) in matched.items():
        for before, after in pairs:
            fields = tuple(_changed(before, after, old, new, same))
            if fields:
                found.append(Difference(Change.CHANGED, kind, after.key, after.title, fields, _codes(after)))
        found += [Difference(Change.REMOVED, kind, part.key, part.title, (), _codes(part)) for part in gone]
        found += [Difference(Change.ADDED, kind, part.key, part.title, (), _codes(part)) for part in fresh]
    return found


def concerning(found: list[Difference], product_code: str) -> list[Difference]:
    """Those that may matter to a batch of this product: what is judged, done and recorded of it from now on."""
    kinds = ("steps", "control_points", "limits", "checks", "measures")
    return [one for one in found if one.kind in kinds and (not one.products or product_code in one.products)]


def _codes(part: Part) -> tuple[str, ...]:
    named = getattr(part, "products", ())
    return (part.product,) if hasattr(part, "product") else tuple(named)


# --- The plan's own settings, and the order of its steps ---


def _of_the_plan(old: PlanDocument, new: PlanDocument) -> Iterator[Difference]:
    fields = tuple(
        FieldChange(spec.words, _shown(getattr(old, name), spec, old), _shown(getattr(new, name), spec, new))
        for name, spec in specs_of(PlanDocument).items()
        if name != "change_summary" and getattr(old, name) != getattr(new, name)
    )
    if fields:
        yield Difference(Change.CHANGED, "", "", "the plan", fields)
    common = {step.name for step in old.steps} & {step.name for step in new.steps}
    before, after = ([step.name for step in plan.steps if step.name in common] for plan in (old, new))
    if before != after:
        yield Difference(
            Change.CHANGED,
            "",
            "",
            "the order of the steps",
            (FieldChange("steps", ", ".join(before), ", ".join(after)),),
        )


# --- Which part is which ---


def _matched(kind: str, old: PlanDocument, new: PlanDocument) -> tuple[list[tuple[Part, Part]], list[Part], list[Part]]:
    """Pairs of the same part, parts that are gone, parts that are new.

    By key first. What is left is matched by what people know it by, since a plan may be written anew.
    """
    before = {part.key: part for part in getattr(old, kind)}
    after = {part.key: part for part in getattr(new, kind)}
    pairs = [(before.pop(key), after.pop(key)) for key in list(after) if key in before]
    for known_by in _KNOWN_BY.get(kind, (_by_title,)):
        pairs += _paired(before, after, old, new, known_by)
    return pairs, list(before.values()), list(after.values())


KnownBy = Callable[[Any, PlanDocument], tuple[Any, ...]]


def _paired(
    before: dict[str, Part], after: dict[str, Part], old: PlanDocument, new: PlanDocument, known_by: KnownBy
) -> list[tuple[Part, Part]]:
    """Takes those out that one name fits exactly once on both sides."""
    names: dict[tuple[Any, ...], list[list[str]]] = defaultdict(lambda: [[], []])
    for side, (parts, document) in enumerate(((before, old), (after, new))):
        for key, part in parts.items():
            names[known_by(part, document)][side].append(key)
    return [
        (before.pop(left[0]), after.pop(right[0])) for left, right in names.values() if len(left) == len(right) == 1
    ]


def _by_title(part: Any, document: PlanDocument) -> tuple[Any, ...]:
    return (part.title,)


def _by(*fields: str) -> KnownBy:
    """By fields; those that name another part, by its title."""

    def known_by(part: Any, document: PlanDocument) -> tuple[Any, ...]:
        return tuple(document.title_of(value) or value for value in (getattr(part, name) for name in fields))

    return known_by


_KNOWN_BY: dict[str, tuple[KnownBy, ...]] = {
    "materials": (_by("step", "direction", "name"),),
    "links": (_by("start", "end", "kind"),),
    "risk_levels": (_by("axis", "rank"),),
    "hazards": (_by("step", "name"),),
    "control_points": (_by("code"), _by("name")),
    "control_measures": (_by("hazard", "description"),),
    "decisions": (_by("hazard", "step"),),
    "limits": (_by("control_point", "statement"), _by("control_point", "quantity", "evaluator", "products")),
    "checks": (_by("control_point", "name"),),
    "measures": (_by("check", "label"),),
    "validations": (_by("control_point", "document"),),
    "verifications": (_by("control_point", "what"),),
    "borrowed": (_by("part", "field", "document"), _by("field", "document", "clause")),
}


# --- What a part says, as people read it ---


def _changed(
    before: Part, after: Part, old: PlanDocument, new: PlanDocument, same: Mapping[str, str]
) -> Iterator[FieldChange]:
    """same: key of a new part -> key of the old one that it is; a part renamed is still the part referred to."""
    for name, spec in specs_of(type(after)).items():
        if spec.form is Form.KEY or name == "position" or _refer_to_the_same(before, after, name, spec, same):
            continue
        was, now = field_in_words(before, name, spec, old), field_in_words(after, name, spec, new)
        if was != now:
            yield FieldChange(spec.words, was, now)


def _refer_to_the_same(before: Part, after: Part, name: str, spec: Spec, same: Mapping[str, str]) -> bool:
    was, now = getattr(before, name), getattr(after, name)
    if spec.form is Form.PART:
        return bool(was == same.get(now, now))
    return spec.form is Form.PARTS and set(was) == {same.get(key, key) for key in now}


def field_in_words(part: Part, name: str, spec: Spec, document: PlanDocument) -> str:
    value = getattr(part, name)
    if isinstance(part, CriticalLimit):
        return _of_limit(part, name, spec, document)
    if isinstance(part, Check | Verification) and name == "cadence":
        return _cadence(value)
    if spec.words.endswith(", s"):
        return spell_duration(value)
    if spec.form is Form.PRODUCTS and not is_single(type(part), name) and not value:
        return "all products"
    return _shown(value, spec, document)


def _of_limit(limit: CriticalLimit, name: str, spec: Spec, document: PlanDocument) -> str:
    value = getattr(limit, name)
    if name in ("low", "high", "target_low", "target_high") and value is not None:
        try:
            return show(limit.quantity, value, limit.unit)
        except InputError:
            return f"{value:g}"
    if name == "comparator":
        return Comparator(value).value.replace("_", " ")
    if name == "parameters":
        return ", ".join(f"{_parameter(key)} {_amount(key, item)}" for key, item in sorted(value.items())) or NONE
    if spec.form is Form.PRODUCTS and not value:
        return "all products"
    return _shown(value, spec, document)


def _parameter(key: str) -> str:
    return key.removesuffix("_s").removesuffix("_c").replace("_", " ")


def _amount(key: str, value: object) -> str:
    if key.endswith("_s") and isinstance(value, int | float):
        return spell_duration(value)
    if key.endswith("_c") and isinstance(value, int | float):
        return f"{value:g} °C"
    return str(value).replace("_", " ")


def _cadence(cadence: Mapping[str, object]) -> str:
    try:
        return describe(cadence)
    except InputError:
        return str(dict(cadence))


def _shown(value: Any, spec: Spec, document: PlanDocument) -> str:
    if value is None or value in ("", ()):
        return NONE
    if isinstance(value, bool):
        return "yes" if value else "no"
    if spec.form is Form.PART:
        return f"“{document.title_of(value) or value}”"
    if spec.form is Form.PARTS:
        return ", ".join(sorted(f"“{document.title_of(key) or key}”" for key in value))
    if spec.form is Form.DATA:
        return ", ".join(f"{key} {_answer(item)}" for key, item in sorted(value.items())) or NONE
    if isinstance(value, tuple):
        return ", ".join(value)
    if spec.form is Form.TEXT:
        return f"“{value}”"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _answer(value: object) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
