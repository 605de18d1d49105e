"""How large a request may be: refused by the length it announces, before any of it is read.

Without it a file is written to the disk whole before a form or the sign-in can refuse it.
"""

from django.conf import settings
from django.http import HttpResponse


def refuse_large_bodies(get_response):
    """Middleware: less is taken from somebody who has not signed in."""

    def middleware(request):
        announced = _announced_bytes(request)
        if announced > settings.LARGEST_REQUEST:
            return _refusal(settings.LARGEST_REQUEST)
        # The person is looked up only for the few requests that are worth it.
        large = announced > settings.LARGEST_REQUEST_SIGNED_OUT
        if large and not request.user.is_authenticated:
            return _refusal(settings.LARGEST_REQUEST_SIGNED_OUT)
        return get_response(request)

    return middleware


def _announced_bytes(request):
    # A body that announces no length is not read at all by Django.
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0


def _refusal(largest_bytes):
    text = (
        f"This is larger than {largest_bytes / 1e6:g} MB, the most that is taken. "
        "Nothing was stored.\n"
        "Go back and send less, or sign in first.\n"
    )
    return HttpResponse(text, status=413, content_type="text/plain; charset=utf-8")
