"""The decision tree for one hazard at one step, a question at a time; what follows is derived, never typed."""

import dataclasses
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect

from haccp.plan import actions
from haccp.plan.document.parts import DecisionAnswers, Hazard
from haccp.plan.labels import label
from haccp.plan.views.found import workspace_here
from haccp.plan.views.worksheet import OUTCOMES
from haccp.plan.workspace import Workspace
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.science.decision_tree import CURRENT, TREES, determine, tree_of

YES_NO = (("yes", "Yes"), ("no", "No"))


class QuestionForm(forms.Form):
    """The answers so far ride along as they were given; a question is answered once at a time."""

    step = forms.ChoiceField(label="At which step")
    reasons = forms.CharField(
        label="Why", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What the answers rest on.",
    )  # fmt: skip

    def __init__(self, *args: object, steps: list[tuple[str, str]], question: str, text: str, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        step = self.fields["step"]
        assert isinstance(step, forms.ChoiceField)
        step.choices = steps
        if question:
            self.fields["answer"] = forms.ChoiceField(
                label=text, choices=YES_NO, required=False, widget=forms.RadioSelect
            )
            self.fields["asked"] = forms.CharField(widget=forms.HiddenInput, initial=question)
        self.order_fields(["step", "asked", "answer", "reasons"])


@needs(Right.EDIT_PLAN)
def tree(request: ScopedRequest, revision_id: UUID, hazard_id: UUID) -> HttpResponse:
    """?step=<key> names the step; the hazard's own otherwise. Each answer is kept at once; “back” takes the last one
    out."""
    work = workspace_here(request, revision_id)
    hazard = work.document.by_key.get(str(hazard_id))
    if not isinstance(hazard, Hazard):
        raise Http404
    step = request.POST.get("step") or request.GET.get("step") or hazard.step
    held = _held(work, hazard, step)
    version = held.tree if held else CURRENT
    found = determine(version, held.answers if held else {})
    next_key = found.next_question.key if found.next_question else ""
    form = QuestionForm(
        request.POST or None,
        steps=[(one.key, one.name) for one in work.document.steps],
        question=next_key,
        text=found.next_question.text if found.next_question else "",
        initial={"step": step, "reasons": held.reasons if held else ""},
    )
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            part = _answered(request, held, hazard, form, [key for key, _ in found.path])
            return _keep(request, work, hazard, part, is_new=held is None)
        except ActionError as error:
            status = refuse(form, error)
    questions = TREES[version].by_key
    context: dict[str, object] = {
        "work": work,
        "revision": work.revision,
        "hazard": hazard,
        "title": label(hazard, work.document),
        "path": [(questions[key].text, answer) for key, answer in found.path],
        "found": found,
        "outcome": OUTCOMES[found.outcome.value],
        "tree": tree_of(version),
        "step_name": work.document.title_of(step),
    }
    return render_form(request, "plan/tree.html", context, form=form, status=status)


def _held(work: Workspace, hazard: Hazard, step: str) -> DecisionAnswers | None:
    return next((one for one in work.document.decisions if one.hazard == hazard.key and one.step == step), None)


def _answered(
    request: ScopedRequest, held: DecisionAnswers | None, hazard: Hazard, form: QuestionForm, path: list[str]
) -> DecisionAnswers:
    """With this answer given, or the last one taken back. ActionError where another was given meanwhile."""
    typed = form.cleaned_data
    part = held or DecisionAnswers(hazard=hazard.key, step=typed["step"])
    answers = {key: part.answers[key] for key in path}
    if "back" in request.POST and path:
        answers.pop(path[-1])
    elif typed.get("answer"):
        if typed["asked"] != form.fields["asked"].initial:
            raise ActionError("This question was answered meanwhile; look at the answers again.", field="answer")
        answers[typed["asked"]] = typed["answer"] == "yes"
    elif "answer" in form.fields and "back" not in request.POST and typed["reasons"] == part.reasons:
        raise ActionError("Answer yes or no.", field="answer")
    return dataclasses.replace(part, answers=answers, reasons=typed["reasons"])


def _keep(
    request: ScopedRequest, work: Workspace, hazard: Hazard, part: DecisionAnswers, *, is_new: bool
) -> HttpResponse:
    save = actions.part_add if is_new else actions.part_change
    save(scope=request.scope, revision=work.revision, part=part)
    answer = redirect("plan:tree", work.revision.pk, hazard.key)
    answer["Location"] += f"?step={part.step}"
    if part.determination.next_question is None:
        messages.success(request, part.determination.reason)
    return answer
