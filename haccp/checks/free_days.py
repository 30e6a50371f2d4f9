"""Which days do not count as working days at a dairy, and which the public holidays of a country are."""

from datetime import date
from typing import Any

import holidays
from django.utils.translation import gettext_lazy as _

from haccp.checks.models import FreeDay
from haccp.premises.models import Premises

J = Premises.Jurisdiction
# ISO 3166-1 codes and English names of where a jurisdiction's dairies are.
_OF_JURISDICTION: dict[str, dict[str, Any]] = {
    J.EU: {
        "AT": _("Austria"), "BE": _("Belgium"), "BG": _("Bulgaria"), "HR": _("Croatia"), "CY": _("Cyprus"),
        "CZ": _("Czechia"), "DK": _("Denmark"), "EE": _("Estonia"), "FI": _("Finland"), "FR": _("France"),
        "DE": _("Germany"), "GR": _("Greece"), "HU": _("Hungary"), "IE": _("Ireland"), "IT": _("Italy"),
        "LV": _("Latvia"), "LT": _("Lithuania"), "LU": _("Luxembourg"), "MT": _("Malta"), "NL": _("Netherlands"),
        "PL": _("Poland"), "PT": _("Portugal"), "RO": _("Romania"), "SK": _("Slovakia"), "SI": _("Slovenia"),
        "ES": _("Spain"), "SE": _("Sweden"),
    },
    J.UK: {"GB": _("United Kingdom")},
    J.US: {"US": _("United States")},
    J.AU: {"AU": _("Australia"), "NZ": _("New Zealand")},
    J.CA: {"CA": _("Canada")},
}  # fmt: skip
ENGLISH = ("en_US", "en_GB", "en")


def free_days_of(premises: Premises) -> frozenset[date]:
    """Weekends aside. One query."""
    return frozenset(one.day for one in free_days_listed(premises))


def free_days_listed(premises: Premises, *, since: date | None = None) -> list[FreeDay]:
    """What counts of each day that is free, oldest first. One query."""
    rows = FreeDay.objects.filter(premises=premises).select_related("said_by").order_by("said_at", "pk")
    if since is not None:
        rows = rows.filter(day__gte=since)
    last = {row.day: row for row in rows}
    return sorted((row for row in last.values() if row.is_free), key=lambda row: row.day)


def countries_for(premises: Premises) -> dict[str, Any]:
    """Code -> name."""
    return _OF_JURISDICTION.get(premises.jurisdiction, {})


def regions_of(country: str) -> tuple[str, ...]:
    """ISO 3166-2 codes of parts with holidays of their own; none for a country that is not known here."""
    kind = getattr(holidays, country, None) if country.isalpha() and len(country) == 2 else None
    return tuple(getattr(kind, "subdivisions", ()))


def proposed(country: str, region: str, year: int) -> dict[date, str]:
    """The public holidays of a year by their English names where there are any; {} for a country that is unknown."""
    if not country or country not in holidays.list_supported_countries():
        return {}
    spoken = getattr(getattr(holidays, country), "supported_languages", ())
    language = next((one for one in ENGLISH if one in spoken), None)
    found = holidays.country_holidays(
        country, subdiv=region if region in regions_of(country) else None, years=year, language=language
    )
    return {day: str(name) for day, name in sorted(found.items()) if day.year == year}
