"""Every write about being told: one function, one transaction."""

from haccp.notices.actions.addresses import (
    calendar_address_make,
    calendar_address_revoke,
    push_device_add,
    push_device_end,
)
from haccp.notices.actions.deliver import deliver
from haccp.notices.actions.raise_alerts import alert_take, raise_alerts
from haccp.notices.actions.wishes import make_digests, wishes_set

__all__ = [
    "alert_take",
    "calendar_address_make",
    "calendar_address_revoke",
    "deliver",
    "make_digests",
    "push_device_add",
    "push_device_end",
    "raise_alerts",
    "wishes_set",
]
