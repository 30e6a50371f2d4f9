"""Answers to the questions that a plan leaves to its producer."""

import dataclasses
from collections.abc import Mapping

from django.db import transaction

from haccp.plan.actions.editable import editable
from haccp.plan.actions.parts import refuse_problems
from haccp.plan.models import PlanRevision
from haccp.plan.rows import Names, change_part, read_plan
from haccp.premises.errors import ActionError
from haccp.premises.scope import Scope


@transaction.atomic
def judgements_answer(*, scope: Scope, revision: PlanRevision, answers: Mapping[str, str]) -> int:
    """Puts answers beside questions of a draft, all or none; an empty answer opens a question again.

    answers: key of the judgement -> the answer. Returns how many changed. Raises ActionError for a question that is
    not in this plan.
    """
    draft = editable(scope, revision)
    document = read_plan(draft)
    asked = {one.key: one for one in document.judgements}
    unknown = [key for key in answers if key not in asked]
    if unknown:
        raise ActionError("One of the questions is not in this plan any more; read the page again.")
    changed = [
        dataclasses.replace(asked[key], answer=answer.strip())
        for key, answer in answers.items()
        if asked[key].answer != answer.strip()
    ]
    for part in changed:
        document = document.with_part(part)
    refuse_problems(changed, document)
    names = Names.of(draft)
    for part in changed:
        change_part(draft, part, names)
    return len(changed)
