"""All findings of a revision on one page, those that block first."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render

from haccp.plan.findings import Finding, Severity
from haccp.plan.sections import BY_SLUG, Section
from haccp.plan.views.found import workspace_here
from haccp.plan.workspace import Workspace
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

TITLES = {
    Severity.BLOCKS: "Blocks approval",
    Severity.WARNS: "Warns",
    Severity.NOTES: "Notes",
}


SHOWN_ONE_BY_ONE = 3


@dataclass(frozen=True, slots=True)
class Placed:
    """A finding with the section where it is put right."""

    finding: Finding
    section: Section


@dataclass(frozen=True, slots=True)
class OfOneRule:
    """What one rule found: many of a kind are one line with the rest behind it."""

    placed: tuple[Placed, ...]

    @property
    def is_long(self) -> bool:
        return len(self.placed) > SHOWN_ONE_BY_ONE

    @property
    def rest(self) -> tuple[Placed, ...]:
        return self.placed[1:]


@needs(Right.READ)
def findings(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    work = workspace_here(request, revision_id)
    groups = [(severity, title, len(placed), by_rule(placed)) for severity, title, placed in grouped(work)]
    context = {"work": work, "revision": work.revision, "groups": groups}
    return render(request, "plan/findings.html", context)


def grouped(work: Workspace) -> list[tuple[str, str, list[Placed]]]:
    """Severity, its title, and the findings of it."""
    placed = [Placed(finding, BY_SLUG[work.place_of(finding)[0]]) for finding in work.findings]
    return [
        (severity.value, title, [one for one in placed if one.finding.severity is severity])
        for severity, title in TITLES.items()
    ]


def by_rule(placed: Iterable[Placed]) -> list[OfOneRule]:
    """In the order in which each rule first spoke."""
    found: dict[str, list[Placed]] = {}
    for one in placed:
        found.setdefault(one.finding.rule, []).append(one)
    return [OfOneRule(tuple(ones)) for ones in found.values()]
