"""System checks: settings that are each sound, and wrong together."""

import ipaddress
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import Error, Warning, register


def is_loopback(host: str) -> bool:
    """Whether only this computer can reach `host`.

    >>> [is_loopback(host) for host in ("localhost", "127.0.0.1", "::1", "0.0.0.0", "crib.lan")]
    [True, True, True, False, False]
    """
    if host.casefold() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def host_of(address: str) -> str:
    """The host in `http://host:port` or `host:port`.

    >>> host_of("https://crib.lan"), host_of("[::1]:8000"), host_of(":8000")
    ('crib.lan', '::1', '')
    """
    return urlsplit(address if "//" in address else f"//{address}").hostname or ""


@register
def labels_can_be_opened(app_configs, **kwargs):
    """Warn when the address in the QR leads nowhere from a phone."""
    if not is_loopback(host_of(settings.BASE_URL)):
        return []
    return [
        Warning(
            f"Labels point at {settings.BASE_URL}, which no phone can reach.",
            hint="Set BASE_URL to the address of this server in the shop's network.",
            id="holderbook.W001",
        )
    ]


@register
def the_address_says_https(app_configs, **kwargs):
    """Warn when HTTPS is on and labels still say http."""
    if not settings.HTTPS or settings.BASE_URL.startswith("https://"):
        return []
    return [
        Warning(
            f"HTTPS is on, but labels point at {settings.BASE_URL}.",
            hint="Let BASE_URL begin with https://.",
            id="holderbook.W002",
        )
    ]


@register
def the_example_shop_stays_at_home(app_configs, **kwargs):
    """Refuse a network to the example shop: its passwords are printed for all to read."""
    at_home = all(is_loopback(host_of(where)) for where in (settings.BASE_URL, settings.HOST))
    if not settings.DEMO or settings.DEBUG or at_home:
        return []
    return [
        Error(
            "The example shop has known passwords and must not be offered on a network "
            f"(BASE_URL {settings.BASE_URL}, HOST {settings.HOST}).",
            hint="Start a shop of your own: set DEMO=0 and HOLDERBOOK_DATA to a new folder.",
            id="holderbook.E001",
        )
    ]
