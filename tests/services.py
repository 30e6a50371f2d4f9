"""PostgreSQL, Redis and Chromium for the tests that need the real ones.

Where one is not to be had the test is skipped with a line that says so; with REQUIRE_SERVICES=1 (as .ci/run sets) it
fails instead. TEST_POSTGRES_URL, TEST_REDIS_URL and CHROMIUM name others than the usual ones.
"""

import os
import shutil
from functools import cache
from urllib.parse import urlsplit, urlunsplit

import psycopg
import pytest
import redis

POSTGRES_URL = os.environ.get("TEST_POSTGRES_URL", "postgresql://127.0.0.1:5432/postgres")
REDIS_URL = os.environ.get("TEST_REDIS_URL", "redis://127.0.0.1:6379/0")
REQUIRED = os.environ.get("REQUIRE_SERVICES") == "1"


def need_postgres() -> str:
    """A URL of a server on which databases may be made."""
    return _or_skip("PostgreSQL", _postgres_problem(), POSTGRES_URL, "set TEST_POSTGRES_URL")


def need_redis() -> str:
    return _or_skip("Redis", _redis_problem(), REDIS_URL, "set TEST_REDIS_URL")


def need_chromium() -> str:
    """Path of a Chromium to drive."""
    path = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    return _or_skip("Chromium", None if path else "none is installed", path or "", "install chromium or set CHROMIUM")


def with_database(url: str, name: str) -> str:
    """The same server, another database."""
    return urlunsplit(urlsplit(url)._replace(path=f"/{name}"))


def _or_skip(service: str, problem: str | None, found: str, remedy: str) -> str:
    if problem is None:
        return found
    sentence = f"needs {service}: {problem} ({remedy})"
    if REQUIRED:
        pytest.fail(f"REQUIRE_SERVICES=1, and this test {sentence}", pytrace=False)
    pytest.skip(sentence)


@cache
def _postgres_problem() -> str | None:
    try:
        with psycopg.connect(POSTGRES_URL, connect_timeout=3):
            return None
    except psycopg.Error as error:
        return str(error).strip().splitlines()[0]


@cache
def _redis_problem() -> str | None:
    try:
        client = redis.Redis.from_url(REDIS_URL, socket_connect_timeout=3)
        client.ping()
        client.close()
    except redis.RedisError as error:
        return str(error)
    return None
