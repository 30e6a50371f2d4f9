"""Web push: what leaves us is decrypted as a browser would (RFC 8291), and its VAPID token verified (RFC 8292)."""

import base64
import json
from datetime import time, timedelta
from typing import Any

import http_ece
import pytest
import requests
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature

from haccp.notices import actions as notices
from haccp.notices.channels.push import may_be_told_at
from haccp.notices.models import Delivery, PushDevice
from haccp.premises.errors import ActionError
from tests.dairy import open_dairy
from tests.notices.test_being_told import NOON, too_warm

AUTH = bytes(range(16))
ENDPOINT = "https://push.browser.example/send/abc"


def unpadded(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def padded(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def point(key: ec.EllipticCurvePublicKey) -> bytes:
    return key.public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)


@pytest.mark.django_db
def test_a_push_can_be_read_by_the_browser_alone_and_a_gone_browser_is_told_no_more(
    settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    server, browser = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    settings.VAPID_PRIVATE_KEY = unpadded(server.private_numbers().private_value.to_bytes(32, "big"))
    settings.VAPID_PUBLIC_KEY = unpadded(point(server.public_key()))
    settings.VAPID_CONTACT = "mailto:dairy@weir.example"
    dairy = open_dairy()
    for scope in (dairy.owner, dairy.helper):
        notices.wishes_set(scope=scope, **(WISHES | {"alerts_by_push": False}))
    notices.wishes_set(scope=dairy.maker, **WISHES)
    device = notices.push_device_add(
        scope=dairy.maker, endpoint=ENDPOINT, p256dh=unpadded(point(browser.public_key())), auth=unpadded(AUTH)
    )
    sent: list[tuple[str, Any, Any]] = []
    status = 201

    def post(self: Any, url: str, data: Any = None, headers: Any = None, **_: Any) -> requests.Response:
        sent.append((url, data, dict(headers)))
        answer = requests.Response()
        answer.status_code = status
        return answer

    monkeypatch.setattr(requests.Session, "post", post)
    monkeypatch.setattr(requests, "post", lambda url, **more: post(None, url, **more))
    deviation = too_warm(dairy, NOON)
    notices.raise_alerts(now=NOON)
    assert notices.deliver(now=NOON) == 1

    (url, body, headers), headers_low = sent[0], {key.lower(): value for key, value in sent[0][2].items()}
    assert url == ENDPOINT
    assert headers
    assert headers_low["content-encoding"] == "aes128gcm"
    assert int(headers_low["ttl"]) == 12 * 3600
    told = json.loads(http_ece.decrypt(body, private_key=browser, auth_secret=AUTH, version="aes128gcm"))
    assert told["title"].endswith(deviation.reference)
    assert told["path"].endswith(f"{deviation.pk}/")
    _verify_vapid(headers_low["authorization"], server.public_key())

    # 410: the browser has signed off at its push service. Tried no more, and no device any more.
    status = 410
    too_warm(dairy, NOON + timedelta(hours=1))
    notices.raise_alerts(now=NOON + timedelta(hours=1))
    assert notices.deliver(now=NOON + timedelta(hours=1)) == 0
    assert Delivery.objects.filter(given_up_at__isnull=False).count() == 1
    assert PushDevice.objects.get(pk=device.pk).ended_at is not None


def _verify_vapid(authorization: str, key: ec.EllipticCurvePublicKey) -> None:
    """RFC 8292: a JWT signed with ES256 for the origin of the push service, good for a day at most."""
    scheme, _, rest = authorization.partition(" ")
    assert scheme == "vapid"
    parts = dict(part.strip().split("=", 1) for part in rest.split(","))
    assert padded(parts["k"]) == point(key)
    head, claims, signature = parts["t"].split(".")
    raw = padded(signature)
    both = encode_dss_signature(int.from_bytes(raw[:32], "big"), int.from_bytes(raw[32:], "big"))
    key.verify(both, f"{head}.{claims}".encode(), ec.ECDSA(hashes.SHA256()))
    claimed = json.loads(padded(claims))
    assert claimed["aud"] == "https://push.browser.example"
    assert claimed["sub"] == "mailto:dairy@weir.example"


def test_only_a_push_service_of_the_internet_is_spoken_to() -> None:
    for wrong in (
        "http://push.browser.example/x",
        "https://127.0.0.1/x",
        "https://[::1]/x",
        "https://localhost/x",
        "https://redis.internal/x",
        "https://10.0.0.8/x",
        "ftp://push.browser.example/x",
    ):
        assert not may_be_told_at(wrong), wrong
    assert may_be_told_at(ENDPOINT)


@pytest.mark.django_db
def test_what_is_no_subscription_is_refused() -> None:
    dairy = open_dairy()
    with pytest.raises(ActionError, match="no subscription"):
        notices.push_device_add(scope=dairy.maker, endpoint="https://localhost/x", p256dh="k", auth="a")


WISHES: dict[str, Any] = {
    "alerts_by_email": False,
    "alerts_by_push": True,
    "digest_by_email": False,
    "digest_at": time(6, 30),
    "quiet_from": None,
    "quiet_until": None,
    "wake_for_critical": False,
}
