"""Is this paper untouched? A fingerprint typed from it is held against the log as it was at that length."""

from django import forms
from django.http import HttpResponse
from django.utils.translation import gettext_lazy as _

from haccp.ledger import queries as ledger
from haccp.ledger.errors import LedgerError
from haccp.ledger.head import Fingerprint, fingerprint, read_fingerprint
from haccp.ledger.models import Log, SignedHead
from haccp.ledger.verification import verify_log
from haccp.premises.refusals import REFUSED
from haccp.premises.refusals import render_form as render
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

SHOWN = 60  # signed heads on the page: some days of them


class FingerprintForm(forms.Form):
    fingerprint = forms.CharField(
        label=_("The fingerprint on the paper"),
        max_length=60,
        help_text=_("Four groups of four letters and digits, a stroke and a number. Small letters do."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
        error_messages={"required": _("Type the fingerprint as it is printed.")},
    )

    def clean_fingerprint(self) -> Fingerprint:
        try:
            return read_fingerprint(self.cleaned_data["fingerprint"])
        except LedgerError as error:
            raise forms.ValidationError(str(error)) from error


@needs(Right.READ)
def fingerprints(request: ScopedRequest) -> HttpResponse:
    """?fingerprint= as typed. Every entry of the log is hashed anew for it: some seconds where there are very many."""
    log_id = request.scope.log_id
    form = FingerprintForm(request.GET if "fingerprint" in request.GET else None)
    typed: Fingerprint | None = form.cleaned_data["fingerprint"] if form.is_bound and form.is_valid() else None
    now = ledger.head(log_id)
    is_longer = typed is not None and typed.size > now.size
    problem = ""
    if typed is not None and not is_longer:
        problem = verify_log(Log.objects.get(pk=log_id), rows=False, fingerprints=[typed]).problem
    context: dict[str, object] = {
        "now": fingerprint(now),
        "size": now.size,
        "typed": typed,
        "is_longer": is_longer,
        "problem": problem,
        "heads": SignedHead.objects.filter(log_id=log_id).order_by("-size")[:SHOWN],
    }
    status = REFUSED if form.is_bound and typed is None else 0
    return render(request, "reports/fingerprints.html", context, form=form, status=status)
