"""Web push: RFC 8030 (protocol), 8291 (encryption) and 8292 (VAPID), through pywebpush."""

import ipaddress
import json
from urllib.parse import urlsplit

from django.conf import settings
from pywebpush import WebPushException, webpush
from requests import RequestException

from haccp.notices.channels import NotDelivered
from haccp.notices.models import PushDevice

LASTS_S = 12 * 3600  # the push service forgets it after that: an alert of yesterday wakes nobody
TIMEOUT_S = 10
GONE = (404, 410)  # RFC 8030, 7.3: the subscription is no more


def is_set_up() -> bool:
    return bool(settings.VAPID_PRIVATE_KEY and settings.VAPID_PUBLIC_KEY and settings.VAPID_CONTACT)


def may_be_told_at(endpoint: str) -> bool:
    """A push service is a host of the internet by https: a browser must not make us speak to our own network."""
    parts = urlsplit(endpoint)
    host = parts.hostname or ""
    if parts.scheme != "https" or "." not in host or host.endswith((".local", ".internal", ".localhost")):
        return False
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return True
    return False


def send(device: PushDevice, *, subject: str, text: str, path: str, tag: str) -> None:
    """Raises NotDelivered."""
    try:
        webpush(
            subscription_info={
                "endpoint": device.endpoint,
                "keys": {"p256dh": device.p256dh, "auth": device.auth},
            },
            data=json.dumps({"title": subject, "text": text[:300], "path": path, "tag": tag}),
            vapid_private_key=settings.VAPID_PRIVATE_KEY,
            vapid_claims={"sub": settings.VAPID_CONTACT},
            ttl=LASTS_S,
            timeout=TIMEOUT_S,
        )
    except WebPushException as error:
        status = getattr(error.response, "status_code", None)
        raise NotDelivered(f"The push service said {status or error}"[:500], gone=status in GONE) from error
    except (RequestException, ValueError) as error:
        raise NotDelivered(f"{type(error).__name__}: {error}"[:500]) from error
