"""The day book: the list of days, and one day with its signatures."""

from datetime import date, timedelta

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from haccp.checks import actions
from haccp.checks.actions.day import RIGHTS, STATEMENTS, Meaning
from haccp.checks.daybook import DayBook, day_book
from haccp.checks.days import day_lines
from haccp.checks.forms.signing import SignForm
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

DAYS_LISTED = 31


@needs(Right.READ)
def days(request: ScopedRequest) -> HttpResponse:
    """The last 31 days; ?until= goes further back."""
    now = timezone.now()
    today = request.scope.premises.local_date(now)
    last = min(_date(request.GET.get("until") or today.isoformat()), today)
    opened = request.scope.premises.local_date(request.scope.premises.log.opened_at)
    earlier = last - timedelta(days=DAYS_LISTED)
    context = {
        "lines": day_lines(request.scope.premises, last=last, count=DAYS_LISTED, now=now),
        "today": today,
        "earlier": earlier if earlier >= opened else None,
        "later": min(last + timedelta(days=DAYS_LISTED), today) if last < today else None,
    }
    return render(request, "checks/days.html", context)


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Http404 from None


@needs(Right.READ)
def day(request: ScopedRequest, day: str) -> HttpResponse:
    """One day as it stands, and the form by which it is signed off or reviewed."""
    today, wanted = request.scope.premises.local_date(timezone.now()), _date(day)
    if wanted > today:
        raise Http404
    book = day_book(request.scope.premises, wanted)
    form = SignForm(request.POST or None, initial={"seen_sha256": book.content_sha256})
    status = 200
    if request.method == "POST":
        if form.is_valid():
            try:
                actions.day_sign(scope=request.scope, day=wanted, **form.cleaned_data)
            except ActionError as error:
                status = refuse(form, error)
            else:
                messages.success(request, "Signed. The signature is in the ledger.")
                return redirect("checks:day", wanted)
        else:
            status = 422
    meaning = _meaning(request, book)
    context = {
        "book": book,
        "form": form,
        "meaning": meaning,
        "statement": STATEMENTS[meaning] if meaning else "",
        "previous": wanted - timedelta(days=1),
        "following": wanted + timedelta(days=1) if wanted < today else None,
        "is_today": wanted == today,
    }
    return render(request, "checks/day.html", context, status=status)


def _meaning(request: ScopedRequest, book: DayBook) -> Meaning | None:
    """What this person can sign of this day now, if anything."""
    scope = request.scope
    if book.unanswered:
        return None
    if book.signed_off is None:
        return Meaning.SIGNED_OFF if scope.may(RIGHTS[Meaning.SIGNED_OFF]) else None
    is_second = book.signed_off.signed_by_id != scope.user.id
    if book.reviewed is None and is_second and scope.may(RIGHTS[Meaning.REVIEWED]):
        return Meaning.REVIEWED
    return None
