"""What ripening has to say on the page of a batch."""

from datetime import datetime

from django.template.loader import render_to_string
from django.utils.safestring import mark_safe
from django.utils.translation import gettext_lazy as _

from batches.making.panels import Panel, register_panel
from batches.ripening.ageing_clock import clocks_of
from batches.ripening.ageing_picture import clocks_in_words
from haccp.lots.models import Lot
from haccp.premises.scope import Scope


def ageing(scope: Scope, lot: Lot, at: datetime) -> Panel:
    clock = clocks_of(scope.premises, [lot], at)[lot.pk]
    context = {"batch_clock": clock, "ageing": clocks_in_words(scope.premises, clock)}
    html = mark_safe(render_to_string("ripening/ageing.html", context))  # noqa: S308 - templates escape
    return Panel("ageing", _("Ageing"), html)


def register() -> None:
    register_panel("ageing", ageing, order=10)
