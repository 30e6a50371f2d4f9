"""A refused action, shown on the form that asked for it with everything that was typed."""

import re

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from haccp.premises.errors import ActionError, Conflict, NotAllowed

REFUSED = 422
CONFLICT = 409
SECRET = re.compile(r"pass(word|wd|phrase)|(^|_)pin($|_)|one_time_code|token|secret", re.IGNORECASE)
UUID_IN_TEXT = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.IGNORECASE)


def refuse(form: forms.BaseForm, error: ActionError) -> int:
    """Puts each sentence of the error beside its field, or above the form. Returns the HTTP status of the answer.

    A key of the error that is no field of the form is said above it. A missing right is raised on: that page has
    nothing to correct.
    """
    if isinstance(error, NotAllowed):
        raise error
    placed = False
    for key, sentence in error.fields.items():
        if key in form.fields:
            form.add_error(key, sentence)
            placed = True
        elif sentence != error.message:
            form.add_error(None, sentence)
    if not placed:
        form.add_error(None, error.message)
    return CONFLICT if isinstance(error, Conflict) else REFUSED


def typed_values(request: HttpRequest) -> list[tuple[str, str]]:
    """What was typed into a form that cannot be answered, to be shown back: every value of a field, no secret, and no
    number that the form made itself."""
    return [
        (UUID_IN_TEXT.sub("", key).strip("-_").replace("_", " "), str(value))
        for key, values in request.POST.lists()
        if not SECRET.search(key) and not key.endswith(("_id", "_sha256"))
        for value in values
        if value and not UUID_IN_TEXT.fullmatch(value)
    ]


def render_form(
    request: HttpRequest, template: str, context: dict[str, object], *, form: forms.BaseForm, status: int = 0
) -> HttpResponse:
    """The page of a form; 422 when what was sent cannot be used, unless another status is given."""
    if not status:
        status = REFUSED if form.is_bound and form.errors else 200
    return render(request, template, {**context, "form": form}, status=status)
