"""Who acts, and at which premises: the one place where scope is decided."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render

from haccp.premises.errors import NotAllowed
from haccp.premises.models import Membership, Premises, User
from haccp.premises.refusals import typed_values
from haccp.premises.roles import Right, may

NEEDS_SIGN_IN = frozenset({Right.MANAGE, Right.APPROVE_PLAN, Right.EDIT_PLAN, Right.BELONG})


@dataclass(frozen=True, slots=True)
class Scope:
    """Every action takes one: it names the person and the premises, and what the role allows."""

    membership: Membership
    by_pin: bool = False  # took over a shared device at the vat: records, but manages nothing

    @property
    def user(self) -> User:
        return self.membership.user

    @property
    def premises(self) -> Premises:
        return self.membership.premises

    @property
    def log_id(self) -> Any:
        return self.membership.premises.log_id

    def may(self, right: Right) -> bool:
        return may(self.membership, right) and not (self.by_pin and right in NEEDS_SIGN_IN)

    def require(self, right: Right) -> None:
        """Raises NotAllowed with a sentence that names who can."""
        if self.by_pin and right in NEEDS_SIGN_IN and may(self.membership, right):
            raise NotAllowed("You took over this device by your PIN: sign in with your password to do this.")
        if not self.may(right):
            raise NotAllowed(
                f"Your role here ({self.membership.get_role_display()}) does not include this; "
                "ask the owner of the dairy."
            )

    @property
    def actor(self) -> str:
        """The person as sealed into the ledger: id and printed name."""
        return f"{self.user.id} {self.user.name}"


class ScopedRequest(HttpRequest):
    """A request inside a view decorated with needs(): scope is never None there."""

    scope: Scope


View = Callable[..., HttpResponseBase]


def _shows_what_was_typed(view: View) -> View:
    """A form sent after the session ended is shown back; a redirect to the sign-in page would lose it."""

    @wraps(view)
    def shown(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method == "POST" and not request.user.is_authenticated:
            return render(request, "signed_out.html", {"typed": typed_values(request)}, status=401)
        return view(request, *args, **kwargs)

    return shown


def needs(right: Right, *, to_write: Right | None = None) -> Callable[[View], View]:
    """Decorates a view: signed in, at a premises, with this right. Declares the view's rule for the access test.

    to_write: the right that a form sent to the view needs instead, where more people read a page than write on it.
    """
    to_write = to_write or right

    def decorate(view: View) -> View:
        @wraps(view)
        @_shows_what_was_typed
        @login_required
        def guarded(request: Any, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if request.scope is None:
                return redirect("premises:choose")
            request.scope.require(to_write if request.method == "POST" else right)
            return view(request, *args, **kwargs)

        guarded.needed_right = right  # type: ignore[attr-defined]
        guarded.needed_right_to_write = to_write  # type: ignore[attr-defined]
        return guarded

    return decorate
