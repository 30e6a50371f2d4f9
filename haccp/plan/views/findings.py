"""All findings of a revision on one page, those that block first."""

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


@dataclass(frozen=True, slots=True)
class Placed:
    """A finding with the section where it is put right."""

    finding: Finding
    section: Section


@needs(Right.READ)
def findings(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    work = workspace_here(request, revision_id)
    context = {"work": work, "revision": work.revision, "groups": grouped(work)}
    return render(request, "plan/findings.html", context)


def grouped(work: Workspace) -> list[tuple[str, str, list[Placed]]]:
    """Severity, its title, and the findings of it."""
    return [
        (
            severity.value,
            title,
            [
                Placed(finding, BY_SLUG[work.place_of(finding)[0]])
                for finding in work.findings
                if finding.severity is severity
            ],
        )
        for severity, title in TITLES.items()
    ]
