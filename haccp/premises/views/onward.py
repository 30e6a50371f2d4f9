"""Where a person goes on after a form: back to the page that sent them, if it is a page of this site."""

from django.http import HttpRequest
from django.shortcuts import resolve_url
from django.utils.http import url_has_allowed_host_and_scheme

NEXT = "next"


def next_page(request: HttpRequest, *, otherwise: str) -> str:
    """The address of `next`, in the form or else in the page's address; otherwise that of the named view."""
    wanted = asked_next(request)
    return wanted or resolve_url(otherwise)


def asked_next(request: HttpRequest) -> str:
    """The same, or "" where none was asked for or it leads elsewhere."""
    wanted = request.POST.get(NEXT) or request.GET.get(NEXT, "")
    safe = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if safe else ""
