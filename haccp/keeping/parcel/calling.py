"""Those who worked at an imported premises, called to choose a password here."""

from collections.abc import Iterator

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from haccp.access import mail
from haccp.access.actions.invitations import invitation_send
from haccp.keeping.parcel.bringing_in import Brought
from haccp.premises.models import Membership
from haccp.premises.scope import Scope


def call_people(brought: Brought) -> Iterator[str]:
    """Tells everybody with a role that the dairy is here now; yields what is left to the keeper, in sentences.

    Whoever could not keep their address is invited at it, in the name of an owner: they sign in here as they are
    used to, and take the role up.
    """
    members = Membership.objects.filter(premises=brought.premises, left_at__isnull=True).select_related("user")
    working = [one for one in members if one.role != Membership.Role.INSPECTOR]
    owner = next((one for one in working if one.role == Membership.Role.OWNER), None)
    for member in working:
        address = brought.stand_ins.get(str(member.user_id))
        if address is not None and owner is not None:
            yield _invite(Scope(owner), member, address)
            continue
        path = reverse("access:password_forgotten")
        sent = bool(settings.SITE_URL) and mail.send(
            to=[member.user.email],
            template="keeping/arrived_letter.txt",
            context={"premises": brought.premises, "link": f"{settings.SITE_URL}{path}"},
        )
        if not sent:
            yield (
                f"{member.user.name} <{member.user.email}> chooses a password at {settings.SITE_URL}{path}, or by "
                f"“manage.py changepassword {member.user.email}”."
            )


def _invite(scope: Scope, member: Membership, address: str) -> str:
    invitation, token = invitation_send(scope=scope, email=address, role=member.role, name=member.user.name)
    link = settings.SITE_URL + reverse("access:invitation", args=[token])
    sent = bool(settings.SITE_URL) and mail.send(
        to=[address],
        template="access/invitation_letter.txt",
        context={"invitation": invitation, "link": link},
    )
    told = "was sent an invitation" if sent else f"is invited by this link, which is shown once: {link}"
    return f"{member.user.name} <{address}> has an account here already, and {told} ({timezone.now():%Y-%m-%d})."
