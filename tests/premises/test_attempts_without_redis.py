"""Redis gone: a password still counts, and still cannot be tried without end."""

import socket
from typing import Any

import pytest
from django.core.cache import caches

from haccp.premises import attempts
from haccp.premises.errors import ActionError


@pytest.fixture
def nothing_answers(settings: Any) -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    redis = {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": f"redis://127.0.0.1:{port}/0"}
    settings.CACHES = {**settings.CACHES, "default": redis}
    caches["own"].clear()


def test_wrong_passwords_are_counted_while_redis_is_gone(nothing_answers: None) -> None:
    for _ in range(attempts.MOST):
        attempts.refuse_if_locked("password", "somebody")
        attempts.failed("password", "somebody")
    with pytest.raises(ActionError, match="Too many wrong ones"):
        attempts.refuse_if_locked("password", "somebody")
    attempts.forget("password", "somebody")
    attempts.refuse_if_locked("password", "somebody")
