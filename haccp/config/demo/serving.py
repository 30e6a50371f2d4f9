"""The site and its schedule in one process: gunicorn with one worker of several threads."""

import errno
import socket
import warnings
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connections
from gunicorn.app.base import BaseApplication

EVERYWHERE = ("0.0.0.0", "::", "")  # noqa: S104  (asked for by --host)
THREADS = 8


def take_port(host: str, port: int) -> socket.socket:
    """A socket bound to the address, so that nobody else takes it while the demo is loaded. port 0: any free one.

    Raises CommandError where it is in use or cannot be had.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    bound = socket.socket(family, socket.SOCK_STREAM)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((host, port))
        # Without this, a second bind succeeds for as long as neither listens.
        bound.listen()
    except OverflowError as error:
        bound.close()
        raise CommandError(f"{port} is not a port: choose one from 1024 to 65535 with --port.") from error
    except OSError as error:
        bound.close()
        raise CommandError(_why_not(host, port, error)) from error
    return bound


def _why_not(host: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is in use: stop what runs there, or choose another with --port."
    if error.errno == errno.EACCES:
        return f"Port {port} is reserved for the system: choose one from 1024 to 65535 with --port."
    return f"{host} is not an address of this machine ({error.strerror}): choose another with --host."


def address_of(bound: socket.socket) -> str:
    """What to type into the browser on this machine."""
    host, port = bound.getsockname()[:2]
    if host in EVERYWHERE:
        host = "127.0.0.1"
    return f"http://{f'[{host}]' if ':' in host else host}:{port}/"


def allow_host(host: str) -> None:
    """Lets the site answer to the names under which this host is reached."""
    names = [socket.gethostname(), *_own_addresses()] if host in EVERYWHERE else [host]
    settings.ALLOWED_HOSTS.extend(name for name in names if name not in settings.ALLOWED_HOSTS)


def _own_addresses() -> list[str]:
    try:
        return sorted({str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None)})
    except OSError:
        return []


def serve(bound: socket.socket, *, when_ready: Callable[[], None]) -> None:
    """Serves until it is interrupted; does not return. The schedule starts in the worker, with wsgi.py."""
    connections.close_all()
    _Site(bound, when_ready).run()


class _Site(BaseApplication):  # type: ignore[misc]
    def __init__(self, bound: socket.socket, when_ready: Callable[[], None]) -> None:
        self._bound = bound
        self._when_ready = when_ready
        super().__init__()

    def load_config(self) -> None:
        options: dict[str, Any] = {
            # gunicorn takes the descriptor over and closes it itself.
            "bind": f"fd://{self._bound.detach()}",
            "workers": 1,
            "worker_class": "gthread",
            "threads": THREADS,
            "control_socket_disable": True,
            "loglevel": "warning",
            "graceful_timeout": 5,
            "when_ready": lambda server: self._when_ready(),
        }
        for name, value in options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        # Static files come from where they lie in the source; nothing was collected, and nothing needs to be.
        warnings.filterwarnings("ignore", message="No directory at", category=UserWarning)
        from haccp.config.wsgi import application

        return application
