"""Addresses of the pages that papers lead back to: in QR codes, and behind the numbers of entries."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from uuid import UUID

from django.urls import reverse

_ANY = UUID(int=0)


@lru_cache(maxsize=32)
def _pattern(name: str, parameter: str) -> str:
    return reverse(name, kwargs={parameter: _ANY})


@dataclass(frozen=True, slots=True)
class Addresses:
    """site: "https://dairy.example", or empty where nobody knows it: then every address is empty."""

    site: str

    def _of(self, name: str, parameter: str, one: UUID) -> str:
        return self.site + _pattern(name, parameter).replace(str(_ANY), str(one)) if self.site else ""

    def record(self, record_id: UUID) -> str:
        return self._of("checks:record", "record_id", record_id)

    def batch(self, lot_id: UUID) -> str:
        return self._of("making:batch", "lot_id", lot_id)

    def deviation(self, deviation_id: UUID) -> str:
        return self._of("deviations:detail", "deviation_id", deviation_id)

    def pack(self, pack_id: UUID) -> str:
        return self._of("reports:pack", "pack_id", pack_id)

    def extra_check(self, check_id: UUID) -> str:
        """Where a check is entered that is not due, or was written on paper first."""
        return self._of("checks:extra", "check_id", check_id)

    def day(self, day: date) -> str:
        return self.site + reverse("checks:day", kwargs={"day": day}) if self.site else ""
