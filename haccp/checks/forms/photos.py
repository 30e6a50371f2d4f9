"""Photographs of a form: taken in before the form is looked at, so that a refusal does not lose them."""

from uuid import uuid4

from django.http import HttpRequest, QueryDict

from haccp.checks.actions import photo_store
from haccp.checks.forms.entries import entry_name, kept_name
from haccp.checks.queries import CheckToDo
from haccp.plan.models import Measure
from haccp.premises.errors import ActionError
from haccp.premises.scope import Scope


def take_in(request: HttpRequest, scope: Scope, todo: CheckToDo) -> tuple[QueryDict, ActionError | None]:
    """What was sent, with the id of each photograph in its hidden field; and why one could not be taken."""
    data = request.POST.copy()
    for measure in todo.check.measures.all():
        upload = request.FILES.get(entry_name(measure.id)) if measure.kind == Measure.Kind.PHOTO else None
        if upload is None:
            continue
        try:
            photo = photo_store(scope=scope, photo_id=uuid4(), data=upload.read(), field=entry_name(measure.id))
        except ActionError as error:
            return data, error
        data[kept_name(measure.id)] = str(photo.id)
    return data, None
