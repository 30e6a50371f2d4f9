"""Edits of a draft, part by part: whatever a plan consists of is added, changed and removed here."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction

from haccp.plan.actions.editable import editable
from haccp.plan.document import KIND_WORDS, KINDS, Part, PlanDocument, kind_name
from haccp.plan.document.fingerprint import part_sha256
from haccp.plan.document.removal import removal
from haccp.plan.document.validity import Problem, clash, problems_of
from haccp.plan.models import PlanRevision
from haccp.plan.places import with_places_of
from haccp.plan.rows import Names, add_parts, change_part, read_plan, remove_parts
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.scope import Scope


@dataclass(frozen=True, slots=True)
class Seen:
    """What a form showed of a part when it was opened: its attributes, and their sum ("" compares nothing)."""

    names: tuple[str, ...]
    sha256: str


@transaction.atomic
def part_add(*, scope: Scope, revision: PlanRevision, part: Part) -> Part:
    """Adds a part to a draft. What it refers to must be there already.

    Raises ActionError, with the field that it concerns, for values that cannot be stored, judged or scheduled; for
    references to what is not in this plan; and for a revision that is approved.
    """
    return parts_add(scope=scope, revision=revision, parts=[part])[0]


@transaction.atomic
def parts_add(*, scope: Scope, revision: PlanRevision, parts: Iterable[Part]) -> list[Part]:
    """As part_add, of several that may refer to one another: all or none."""
    draft = editable(scope, revision)
    document = with_places_of(read_plan(draft), scope.premises)
    added = list(parts)
    for part in added:
        if part.key in document.by_key:
            raise Conflict("This part was added already; change it instead.")
        document = document.with_part(part)
    refuse_problems(added, document)
    add_parts(draft, added, Names.of(draft))
    return added


@transaction.atomic
def part_change(*, scope: Scope, revision: PlanRevision, part: Part, seen: Seen | None = None) -> Part:
    """Puts a part in the place of the one with its key. Raises as part_add, and where there is no such part.

    Raises Conflict where what the form had shown was changed meanwhile by somebody else.
    """
    draft = editable(scope, revision)
    document = with_places_of(read_plan(draft), scope.premises)
    if document.kind_of.get(part.key) != kind_name(part):
        raise ActionError(f"There is no such {KIND_WORDS[kind_name(part)]} in {draft}; it may have been removed.")
    refuse_unseen(document.by_key[part.key], part, seen)
    document = document.with_part(part)
    # A change of quantity or unit may leave what refers to the part wrong, so those are looked at too.
    concerned = [part, *(other for _, other in document.parts() if part.key in getattr(other, "limits", ()))]
    refuse_problems(concerned, document)
    change_part(draft, part, Names.of(draft))
    return part


@transaction.atomic
def part_remove(*, scope: Scope, revision: PlanRevision, kind: str, key: str) -> list[Part]:
    """Removes a part with all that belongs to it (a control point with its limits and checks), and returns them.

    Raises ActionError where other parts still refer to it, naming them.
    """
    draft = editable(scope, revision)
    document = read_plan(draft)
    if kind not in KINDS or document.kind_of.get(key) != kind:
        raise ActionError("There is no such part in this plan; it may have been removed already.")
    going = removal(document, key)
    if going.still_referring:
        first = going.still_referring[:3]
        named = "; ".join(f"{KIND_WORDS[kind_name(part)]} “{part.title}”" for part in first)
        more = f" and {len(going.still_referring) - 3} more" if len(going.still_referring) > 3 else ""
        raise ActionError(f"“{document.title_of(key)}” is still used by {named}{more}; change or remove those first.")
    remove_parts(draft, going.removed)
    return list(going.removed)


def refuse_unseen(stored: Part, typed: Part, seen: Seen | None) -> None:
    """A save that would undo somebody else's unseen change is refused; the same change twice is not."""
    if (
        seen is None
        or not seen.sha256
        or part_sha256(stored, seen.names) in (seen.sha256, part_sha256(typed, seen.names))
    ):
        return
    raise Conflict(
        f"“{stored.title}” was changed by somebody else since you opened this page. What you typed is kept here: "
        "compare it with what the plan says now, then save again to put yours in its place."
    )


def refuse_problems(parts: Iterable[Part], document: PlanDocument) -> None:
    """Raises ActionError for the first part with a problem, with a sentence for each field of it."""
    for part in parts:
        problems: list[Problem] = problems_of(part, document)
        taken = clash(part, document)
        if taken is not None:
            problems.append(taken)
        if problems:
            raise ActionError(
                f"{part.title}: {problems[0].sentence}",
                fields={problem.field: problem.sentence for problem in problems if problem.field},
            )
