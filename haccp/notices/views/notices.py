"""What I am told: wishes, the calendar's address, devices, what was sent and what failed."""

import json
from datetime import datetime
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from haccp.notices import actions, queries
from haccp.notices.actions.addresses import hash_of
from haccp.notices.actions.outbox import wishes_of
from haccp.notices.channels import email, push
from haccp.notices.feed import feed
from haccp.notices.models import CalendarAddress
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


def _clock(label: Any, *, required: bool, help_text: Any = "") -> forms.TimeField:
    return forms.TimeField(
        label=label,
        required=required,
        help_text=help_text,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": _("Give a time of day such as 06:30.")},
    )


class WishesForm(forms.Form):
    """The fields of Wishes that a person sets."""

    alerts_by_email = forms.BooleanField(label=_("Alerts by e-mail"), required=False)
    alerts_by_push = forms.BooleanField(label=_("Alerts on my devices"), required=False)
    wake_for_critical = forms.BooleanField(label=_("Tell me of critical limits in quiet hours too"), required=False)
    quiet_from = _clock(_("Quiet from"), required=False)
    quiet_until = _clock(
        _("Quiet until"), required=False, help_text=_("Alerts wait until then. Leave both empty for no quiet hours.")
    )
    digest_by_email = forms.BooleanField(label=_("A digest of the day by e-mail"), required=False)
    digest_at = _clock(_("When the digest is sent"), required=True)


def _form(request: ScopedRequest, data: Any = None) -> WishesForm:
    wishes = wishes_of(request.scope.membership)
    return WishesForm(data, initial={name: getattr(wishes, name) for name in WishesForm.base_fields})


@needs(Right.READ)
@never_cache
def notices(request: ScopedRequest) -> HttpResponse:
    form = _form(request, request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.wishes_set(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Saved.")
            return redirect("notices:notices")
    return render_form(request, "notices/notices.html", _context(request), form=form, status=status)


def _context(request: ScopedRequest) -> dict[str, object]:
    scope = request.scope
    return {
        "email_is_set_up": email.is_set_up(),
        "push_is_set_up": push.is_set_up(),
        "vapid_public_key": settings.VAPID_PUBLIC_KEY,
        "calendar_address": queries.calendar_address_of(scope.membership),
        "devices": queries.devices_of(scope.membership),
        "notices": queries.notices_of(scope.membership),
        "failing": queries.failing(scope.premises)[:20] if scope.may(Right.MANAGE) else [],
    }


@needs(Right.READ)
@require_POST
@never_cache
def calendar_make(request: ScopedRequest) -> HttpResponse:
    """The new address is shown on this answer and never again."""
    token = actions.calendar_address_make(scope=request.scope)
    path = reverse("notices:feed", args=[token])
    address = settings.SITE_URL + path if settings.SITE_URL else request.build_absolute_uri(path)
    form = _form(request)
    context = {**_context(request), "new_address": address}
    return render_form(request, "notices/notices.html", context, form=form)


@needs(Right.READ)
@require_POST
def calendar_revoke(request: ScopedRequest) -> HttpResponse:
    actions.calendar_address_revoke(scope=request.scope)
    messages.success(request, "The address no longer answers.")
    return redirect("notices:notices")


@require_GET
@never_cache
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """For calendar programs, which cannot sign in: whoever knows the address reads this person's checks, no more."""
    row = (
        CalendarAddress.objects.filter(
            token_sha256=hash_of(token), revoked_at__isnull=True, membership__left_at__isnull=True
        )
        .select_related("membership__premises", "membership__user")
        .first()
    )
    if row is None or not row.membership.user.is_active:
        raise Http404
    now: datetime = timezone.now()
    CalendarAddress.objects.filter(pk=row.pk).update(last_read_at=now)
    answer = HttpResponse(feed(row.membership, now), content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="rounds.ics"'
    return answer


@needs(Right.READ)
@require_POST
def push_add(request: ScopedRequest) -> HttpResponse:
    """Sent by push.js: the subscription that the browser has made."""
    try:
        given = json.loads(request.body)
        keys = given["keys"]
        actions.push_device_add(
            scope=request.scope,
            endpoint=str(given["endpoint"]),
            p256dh=str(keys["p256dh"]),
            auth=str(keys["auth"]),
        )
    except (ValueError, KeyError, TypeError):
        return JsonResponse({"error": "That is no subscription of a browser."}, status=422)
    except ActionError as error:
        return JsonResponse({"error": str(error)}, status=422)
    return JsonResponse({"saved": True}, status=201)


@needs(Right.READ)
@require_POST
def push_end(request: ScopedRequest, push_device_id: UUID) -> HttpResponse:
    if push_device_id not in {one.pk for one in queries.devices_of(request.scope.membership)}:
        raise Http404
    actions.push_device_end(scope=request.scope, device_id=push_device_id)
    return redirect("notices:notices")


@needs(Right.RECORD)
@require_POST
def take(request: ScopedRequest, deviation_id: UUID) -> HttpResponse:
    """“I take care of it”."""
    if queries.alert_of(request.scope.premises, deviation_id) is None:
        raise Http404
    alert = actions.alert_take(scope=request.scope, deviation_id=deviation_id)
    if alert.taken_by_id == request.scope.user.pk:
        messages.success(request, "The others are told no further; go on here.")
    elif alert.taken_by is not None:
        messages.info(request, f"{alert.taken_by.name} has taken it already.")
    return redirect("deviations:detail", deviation_id)


@require_GET
def service_worker(request: HttpRequest) -> HttpResponse:
    """Served from the root, since a service worker may only watch over what lies below its own address."""
    answer = render(request, "notices/service_worker.js", content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = "no-cache"
    return answer
