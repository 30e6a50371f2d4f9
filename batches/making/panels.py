"""What rooms above say of a batch on its page: they register it in AppConfig.ready(), and making need not know them."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.utils.functional import Promise
from django.utils.safestring import SafeString

from haccp.lots.models import Lot
from haccp.premises.scope import Scope


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of the batch page. key: unique on the page. html: rendered by a template."""

    key: str
    title: str | Promise
    html: SafeString


Provider = Callable[[Scope, Lot, datetime], Panel | None]
_providers: dict[str, tuple[int, Provider]] = {}


def register_panel(key: str, provider: Provider, *, order: int) -> None:
    """provider gives the panel, or None where it has nothing to say. Lower orders come first; a key is taken once."""
    _providers[key] = (order, provider)


def panels_of(scope: Scope, lot: Lot, at: datetime) -> list[Panel]:
    providers = [provider for _order, provider in sorted(_providers.values(), key=lambda one: one[0])]
    return [panel for panel in (provider(scope, lot, at) for provider in providers) if panel is not None]
