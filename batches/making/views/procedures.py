"""Procedures: by product, the version in use, and its draft with all that can be changed."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from batches.making import actions
from batches.making.families import family_of
from batches.making.forms import DoseForm, DraftForm, MilkShareForm, PutInUseForm, StageDraftForm
from batches.making.models import Procedure
from haccp.plan.models import Product
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def procedures(request: ScopedRequest) -> HttpResponse:
    products = Product.objects.filter(premises=request.scope.premises, retired_at__isnull=True)
    lines = []
    for product in products.prefetch_related("procedures"):
        versions = list(product.procedures.all())
        in_use = next((one for one in versions if one.in_use_from is not None), None)
        draft = next((one for one in versions if one.in_use_from is None), None)
        lines.append((product, in_use, draft))
    context = {"lines": lines, "may_edit": request.scope.may(Right.EDIT_PROCEDURE)}
    return render(request, "making/procedures.html", context)


@needs(Right.READ)
def procedure(request: ScopedRequest, product_id: UUID) -> HttpResponse:
    """The version in use, and those before it."""
    product = get_object_or_404(Product, premises=request.scope.premises, pk=product_id)
    versions = list(
        Procedure.objects.filter(product=product).prefetch_related("stages__doses", "milks").order_by("-number")
    )
    context = {
        "product": product,
        "in_use": next((one for one in versions if one.in_use_from is not None), None),
        "earlier": [one for one in versions if one.in_use_from is not None][1:],
        "draft": next((one for one in versions if one.in_use_from is None), None),
        "form": DraftForm(initial={"family": family_of(product.family)}),
        "may_edit": request.scope.may(Right.EDIT_PROCEDURE),
    }
    return render(request, "making/procedure.html", context)


@needs(Right.EDIT_PROCEDURE)
def draft_new(request: ScopedRequest, product_id: UUID) -> HttpResponseBase:
    product = get_object_or_404(Product, premises=request.scope.premises, pk=product_id)
    form = DraftForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        draft = actions.procedure_draft(scope=request.scope, product_id=product.pk, family=form.cleaned_data["family"])
        return redirect("making:draft", draft.pk)
    return redirect("making:procedure", product.pk)


@needs(Right.EDIT_PROCEDURE)
def draft(request: ScopedRequest, procedure_id: UUID) -> HttpResponse:
    """Its stages in order; what is pressed here moves or removes one, discards the draft or puts it in use."""
    scope = request.scope
    row = _draft(request, procedure_id)
    form = PutInUseForm(request.POST if "put_in_use" in request.POST else None)
    status = 0
    if request.method == "POST":
        try:
            answer = _press(request, row, form)
        except ActionError as error:
            status = refuse(form, error)
        else:
            if answer is not None:
                return answer
    context: dict[str, object] = {
        "draft": row,
        "stages": list(row.stages.prefetch_related("doses")),
        "milks": list(row.milks.all()),
        "milk_form": MilkShareForm(request.POST if "milk_put" in request.POST else None),
        "may_edit": scope.may(Right.EDIT_PROCEDURE),
    }
    return render_form(request, "making/draft.html", context, form=form, status=status)


def _press(request: ScopedRequest, row: Procedure, form: PutInUseForm) -> HttpResponse | None:
    scope, sent = request.scope, request.POST
    if "put_in_use" in sent and form.is_valid():
        actions.procedure_put_in_use(scope=scope, procedure_id=row.pk, note=form.cleaned_data["note"])
        messages.success(request, _("In use from now on."))
        return redirect("making:procedure", row.product_id)
    if "discard" in sent:
        actions.draft_discard(scope=scope, procedure_id=row.pk)
        return redirect("making:procedure", row.product_id)
    for name, up in (("up", True), ("down", False)):
        if name in sent:
            actions.stage_move(scope=scope, procedure_id=row.pk, stage_id=_uuid(sent[name]), up=up)
            return redirect("making:draft", row.pk)
    if "milk_remove" in sent:
        actions.milk_remove(scope=scope, procedure_id=row.pk, species=sent["milk_remove"])
        return redirect("making:draft", row.pk)
    milk = MilkShareForm(sent)
    if "milk_put" in sent and milk.is_valid():
        actions.milk_put(scope=scope, procedure_id=row.pk, **milk.cleaned_data)
        return redirect("making:draft", row.pk)
    return None


@needs(Right.EDIT_PROCEDURE)
def draft_stage_new(request: ScopedRequest, procedure_id: UUID) -> HttpResponse:
    row = _draft(request, procedure_id)
    form = StageDraftForm(request.POST or None, scope=request.scope)
    return _stage_page(request, row, form, None)


@needs(Right.EDIT_PROCEDURE)
def draft_stage(request: ScopedRequest, procedure_id: UUID, stage_id: UUID) -> HttpResponse:
    row = _draft(request, procedure_id)
    stage = get_object_or_404(row.stages, pk=stage_id)
    if "remove" in request.POST:
        actions.stage_remove(scope=request.scope, procedure_id=row.pk, stage_id=stage.pk)
        return redirect("making:draft", row.pk)
    if "dose_remove" in request.POST:
        actions.dose_remove(scope=request.scope, procedure_id=row.pk, dose_id=_uuid(request.POST["dose_remove"]))
        return redirect("making:draft_stage", row.pk, stage.pk)
    dose_form = DoseForm(request.POST if "dose_put" in request.POST else None)
    if "dose_put" in request.POST and dose_form.is_valid():
        typed = dict(dose_form.cleaned_data)
        try:
            actions.dose_put(
                scope=request.scope, procedure_id=row.pk, stage_id=stage.pk, name=typed.pop("dose_name"), **typed
            )
        except ActionError as error:
            refuse(dose_form, error)
        else:
            return redirect("making:draft_stage", row.pk, stage.pk)
    asked = request.POST if request.method == "POST" and "dose_put" not in request.POST else None
    form = StageDraftForm(asked, scope=request.scope, stage=stage)
    return _stage_page(request, row, form, stage.pk, dose_form)


def _stage_page(
    request: ScopedRequest,
    row: Procedure,
    form: StageDraftForm,
    stage_id: UUID | None,
    dose_form: DoseForm | None = None,
) -> HttpResponse:
    status = 0
    if form.is_bound and form.is_valid():
        typed = form.cleaned_data
        try:
            stage = actions.stage_put(
                scope=request.scope,
                procedure_id=row.pk,
                stage_id=stage_id,
                kind=typed["kind"],
                name=typed["name"],
                instruction=typed["instruction"],
                numbers=typed["numbers"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            if "and_dose" in request.POST:
                return redirect("making:draft_stage", row.pk, stage.pk)
            return redirect("making:draft", row.pk)
    context: dict[str, object] = {"draft": row, "stage_id": stage_id, "dose_form": dose_form}
    if stage_id is not None:
        context["doses"] = list(row.stages.get(pk=stage_id).doses.all())
    if dose_form is not None and dose_form.errors:
        status = 422
    return render_form(request, "making/draft_stage.html", context, form=form, status=status)


def _draft(request: ScopedRequest, procedure_id: UUID) -> Procedure:
    rows = Procedure.objects.filter(product__premises=request.scope.premises, in_use_from__isnull=True)
    return get_object_or_404(rows.select_related("product"), pk=procedure_id)


def _uuid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise ActionError("There is no such stage in this draft.") from None
