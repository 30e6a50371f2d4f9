"""The air of a room: typed, brought in from a logger, and drawn over as long as a year."""

from datetime import timedelta
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from batches.ripening import actions, queries
from batches.ripening.forms import ChannelsForm, LoggerForm, ReadForm
from batches.ripening.logged import guessed_quantity, logged_climates
from haccp.checks import trace_store
from haccp.checks.actions import trace_store_file
from haccp.checks.forms.recorder import oversized_sentence
from haccp.checks.models import TraceFile
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.premises.uploads import OVERSIZED_KEY
from haccp.science.units import show

PERIODS = (("7", "Week"), ("31", "Month"), ("92", "Quarter"), ("366", "Year"))


@needs(Right.RECORD)
def read(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    scope = request.scope
    place = get_object_or_404(queries.rooms_of(scope.premises), pk=place_id)
    form = ReadForm(request.POST or None, scope=scope)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            saved = actions.room_read(
                scope=scope,
                reading_id=typed["reading_id"],
                room_id=place.pk,
                read_at=typed["read_at"],
                temperature=typed["temperature"],
                temperature_unit=typed["temperature_unit"],
                wet_bulb=typed["wet_bulb"],
                humidity=typed["humidity"],
                psychrometer=typed["psychrometer"],
                pressure=typed["pressure"],
                instrument_id=typed["instrument"].pk if typed["instrument"] else None,
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            said = [show("temperature", saved.temperature_c, scope.user.preferred_unit("temperature"))
                    if saved.temperature_c is not None else "",
                    show("relative_humidity", saved.relative_humidity, decimals=1)
                    if saved.relative_humidity is not None else ""]  # fmt: skip
            messages.success(request, f"{place.name}: {', '.join(x for x in said if x)}, saved.")
            return redirect("ripening:room", place.pk)
    return render_form(request, "ripening/read.html", {"place": place}, form=form, status=status)


@needs(Right.RECORD)
def logger_upload(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    place = get_object_or_404(queries.rooms_of(request.scope.premises), pk=place_id)
    form = LoggerForm(request.POST or None, request.FILES or None)
    status = 0
    if OVERSIZED_KEY in request.META:
        form.fields["file"].error_messages["required"] = oversized_sentence(request.META[OVERSIZED_KEY])
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data["file"]
        try:
            stored = trace_store_file(
                scope=request.scope,
                trace_id=form.cleaned_data["trace_id"],
                data=sent.read(),
                filename=sent.name,
                lot_id=None,
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("ripening:logger_confirm", place.pk, stored.pk)
    return render_form(request, "ripening/logger.html", {"place": place}, form=form, status=status)


@needs(Right.RECORD)
def logger_confirm(request: ScopedRequest, place_id: UUID, trace_id: UUID) -> HttpResponse:
    """What each channel of the file measures; nothing of it counts for the room before that is said."""
    scope = request.scope
    place = get_object_or_404(queries.rooms_of(scope.premises), pk=place_id)
    trace = get_object_or_404(TraceFile.objects.filter(premises=scope.premises), pk=trace_id)
    loaded = trace_store.load(trace)
    channels = [(name, guessed_quantity(name, values)) for name, values in loaded.channels.items()]
    form = ChannelsForm(request.POST or None, scope=scope, channels=channels)
    status = 0
    if request.method == "POST" and form.is_valid():
        instrument = form.cleaned_data["instrument"]
        try:
            actions.logs_add(
                scope=scope,
                room_id=place.pk,
                trace_id=trace.pk,
                channels=[actions.ChannelSaid(*one) for one in form.said()],
                instrument_id=instrument.pk if instrument else None,
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{trace.filename} is taken in for {place.name}.")
            return redirect("ripening:room", place.pk)
    context: dict[str, object] = {
        "place": place,
        "trace": trace,
        "ends_at": trace.started_at + timedelta(seconds=trace.duration_s),
    }
    return render_form(request, "ripening/logger_confirm.html", context, form=form, status=status)


@needs(Right.READ)
def year(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    """?days= chooses the period."""
    scope, now = request.scope, timezone.now()
    place = get_object_or_404(queries.rooms_of(scope.premises), pk=place_id)
    days = request.GET.get("days", "366")
    days = days if days in dict(PERIODS) else "366"
    context = {
        "place": place,
        "periods": PERIODS,
        "days": days,
        "logged": logged_climates(scope.premises, place, now - timedelta(days=int(days)), now, scope.user),
    }
    return render(request, "ripening/year.html", context)
