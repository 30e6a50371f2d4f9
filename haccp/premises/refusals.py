"""A refused action, shown on the form that asked for it with everything that was typed."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from haccp.premises.errors import ActionError, Conflict

REFUSED = 422
CONFLICT = 409


def refuse(form: forms.BaseForm, error: ActionError) -> int:
    """Puts each sentence of the error beside its field, or above the form. Returns the HTTP status of the answer.

    A key of the error may be a field of the form, or be named in the form's `error_fields` (key -> field).
    """
    renamed: dict[str, str] = getattr(form, "error_fields", {})
    placed = False
    for key, sentence in error.fields.items():
        name = renamed.get(key, key)
        if name in form.fields:
            form.add_error(name, sentence)
            placed = True
        elif sentence != error.message:
            form.add_error(None, sentence)
    if not placed:
        form.add_error(None, error.message)
    return CONFLICT if isinstance(error, Conflict) else REFUSED


def render_form(
    request: HttpRequest, template: str, context: dict[str, object], *, form: forms.BaseForm, status: int = 0
) -> HttpResponse:
    """The page of a form; 422 when what was sent cannot be used, unless another status is given."""
    if not status:
        status = REFUSED if form.is_bound and form.errors else 200
    return render(request, template, {**context, "form": form}, status=status)
