"""Reads about who is, was and will be here."""

from datetime import datetime
from uuid import UUID

from django_otp.plugins.otp_totp.models import TOTPDevice

from haccp.access.models import Invitation
from haccp.premises.models import Membership, Premises
from haccp.premises.roles import RIGHTS, Right


def people_of(premises: Premises) -> list[Membership]:
    """Who has a role here now, by name."""
    found = Membership.objects.filter(premises=premises, left_at__isnull=True)
    working = found.exclude(role=Membership.Role.INSPECTOR)
    return list(working.select_related("user").order_by("user__name", "since"))


def password_is_enough(people: list[Membership]) -> list[Membership]:
    """Of those who manage a dairy, whoever's password alone opens it: no authenticator asks for a code besides. A
    passkey is another way in, and does not shut this one."""
    managing = [one for one in people if Right.MANAGE in RIGHTS[Membership.Role(one.role)]]
    users = [one.user_id for one in managing]
    guarded = set(TOTPDevice.objects.filter(user__in=users, confirmed=True).values_list("user_id", flat=True))
    return [one for one in managing if one.user_id not in guarded]


def former_roles(premises: Premises) -> list[Membership]:
    """Roles that ended, the last first: of leavers, and of people who went on in another."""
    found = Membership.objects.filter(premises=premises, left_at__isnull=False)
    return list(found.select_related("user", "ended_by").order_by("-left_at")[:200])


def person_here(premises: Premises, membership_id: UUID) -> Membership | None:
    """Somebody's role here, current or ended."""
    return Membership.objects.select_related("user", "given_by").filter(premises=premises, pk=membership_id).first()


def waiting_invitations(premises: Premises, at: datetime) -> list[Invitation]:
    """Those not taken up; an expired one is shown until it is withdrawn or sent anew."""
    found = Invitation.objects.filter(premises=premises, accepted_at__isnull=True, withdrawn_at__isnull=True)
    return list(found.select_related("invited_by").order_by("email"))


def visitors_of(premises: Premises, at: datetime) -> list[Membership]:
    """Visitors whose link works."""
    found = Membership.objects.filter(premises=premises, role=Membership.Role.INSPECTOR, left_at__isnull=True)
    return list(found.filter(until__gt=at).select_related("user", "visitor_link").order_by("until"))


def people_with_pin(premises: Premises) -> list[Membership]:
    """Who can take over a shared device: those who record here and have set a PIN."""
    recording = [role for role, rights in RIGHTS.items() if Right.RECORD in rights]
    found = Membership.objects.filter(
        premises=premises, left_at__isnull=True, role__in=recording, user__pin__isnull=False, user__is_active=True
    )
    return list(found.select_related("user").order_by("user__name"))
