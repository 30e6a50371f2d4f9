"""Step 1: the team."""

from collections.abc import Iterator

from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule

CLAUSE = "CXC 1-1969 (2022), chapter two, step 1"


@rule("team.none", CLAUSE, Severity.WARNS, remedy="Name who keeps the plan, and who advises from outside.")
def none(plan: Examined) -> Iterator[Found]:
    if not plan.document.team_members:
        yield Found(None, "Nobody is named as the team that keeps this plan.")


@rule("team.competence", CLAUSE, Severity.WARNS, remedy="Write down training or experience with this product.")
def competence(plan: Examined) -> Iterator[Found]:
    for member in plan.document.team_members:
        if not member.competence.strip():
            yield Found(member, f"It is not said what makes {member.name} fit to keep the plan.")


@rule("scope.none", CLAUSE, Severity.WARNS, remedy="Say which products and which steps the plan is for.")
def scope(plan: Examined) -> Iterator[Found]:
    if not plan.document.scope_statement.strip():
        yield Found(None, "The scope of the plan is empty.")
