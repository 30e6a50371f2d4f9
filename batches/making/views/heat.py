"""One heat treatment in full, and the phosphatase results of a batch."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from batches.making import actions
from batches.making.forms import HeatSheetForm, PhosphataseForm
from batches.making.heat import heat_pictures
from batches.making.heat_record import heat_record, phosphatase_of
from batches.making.models import HeatSheet
from batches.making.queries import makes_of
from haccp.checks.models import Record
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ, to_write=Right.RECORD)
def heat(request: ScopedRequest, lot_id: UUID, record_id: UUID) -> HttpResponse:
    """The form below it adds what the recorder does not know; a person who only reads sees no form."""
    scope = request.scope
    make = get_object_or_404(makes_of(scope.premises), pk=lot_id)
    records = Record.objects.for_premises(scope.premises).with_details().filter(lot=make.lot, trace__isnull=False)
    record = get_object_or_404(records, pk=record_id)
    sheets = HeatSheet.objects.filter(record=record).prefetch_related("thermometers", "diversions")
    sheet = sheets.select_related("recorded_by", "thermometer", "air_thermometer").order_by("recorded_at").last()
    form = HeatSheetForm(request.POST or None, scope=scope, initial=_initial(sheet))
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.heat_sheet_save(scope=scope, record_id=record.pk, **form.typed())
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("making:heat", make.pk, record.pk)
    context: dict[str, object] = {
        "make": make,
        "record": record,
        "heat": heat_record(scope.premises, record, sheet),
        "pictures": heat_pictures(record, scope.user.preferred_unit("temperature")),
        "phosphatase": phosphatase_of(scope.premises, make),
        "may_record": scope.may(Right.RECORD),
    }
    return render_form(request, "making/heat.html", context, form=form, status=status)


def _initial(sheet: HeatSheet | None) -> dict[str, object]:
    """What the last sheet said, so that a correction need not type all of it again."""
    if sheet is None:
        return {}
    typed = sheet.typed
    initial: dict[str, object] = {name: typed[name] for name in ("fat", "cut_in", "cut_out", "tube_s") if name in typed}
    for n, one in enumerate(sheet.thermometers.all(), start=1):
        shown = {f"{name}_{n}": one.typed.get(name, "") for name in ("indicating", "air_space")}
        initial |= {f"at_{n}": one.at, **shown}
    for n, away in enumerate(sheet.diversions.all(), start=1):
        initial |= {f"from_{n}": away.began_at, f"until_{n}": away.ended_at}
    return initial | {
        "process": sheet.process,
        "sweetened": sheet.sweetened,
        "unit": typed["unit"],
        "thermometer": sheet.thermometer_id,
        "air_thermometer": sheet.air_thermometer_id,
        "note": sheet.note,
    }


@needs(Right.RECORD)
def phosphatase(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    make = get_object_or_404(makes_of(scope.premises), pk=lot_id)
    form = PhosphataseForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.phosphatase_record(scope=scope, make_id=make.pk, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("making:batch", make.pk)
    return render_form(request, "making/phosphatase.html", {"make": make}, form=form, status=status)
