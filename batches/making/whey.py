"""Whey that a make can begin with, for cheese of whey. Tracing, a room above, writes whey down and says what is left.

It registers in AppConfig.ready(); making need not know it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from uuid import UUID

from haccp.lots.models import Lot
from haccp.premises.models import Premises

# What is measured in litres when a make begins
IN_THE_VAT = (Lot.Kind.MILK, Lot.Kind.BY_PRODUCT)


@dataclass(frozen=True, slots=True)
class Whey:
    """A lot of whey of which left_l litres are still there. origin: what it came off, in words."""

    lot: Lot
    left_l: float
    is_held: bool
    origin: str

    @property
    def lot_id(self) -> UUID:
        return self.lot.pk


Provider = Callable[[Premises], list[Whey]]
_providers: dict[str, Provider] = {}


def register(name: str, provider: Provider) -> None:
    """A name registered again replaces the function of before."""
    _providers[name] = provider


def whey_of(premises: Premises) -> list[Whey]:
    """Newest first; only what there is still some of."""
    return [one for provider in _providers.values() for one in provider(premises)]
