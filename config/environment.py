"""Readers of environment variables: a value that cannot be meant stops the start."""

import os
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

ON = {"1", "on", "true", "yes"}
OFF = {"0", "off", "false", "no"}


def read_text(name: str, default: str = "") -> str:
    """The variable without blanks around it; set but empty counts as not set."""
    return os.environ.get(name, "").strip() or default


def read_switch(name: str, *, default: bool = False) -> bool:
    """The variable as on or off; a word that is neither is refused."""
    word = read_text(name).casefold()
    if not word:
        return default
    if word not in ON | OFF:
        raise ImproperlyConfigured(f"{name}={word}: use 1 or 0")
    return word in ON


def read_whole_number(name: str, default: int, *, smallest: int = 1) -> int:
    """The variable as a whole number of at least `smallest`."""
    word = read_text(name, str(default))
    if not word.isdecimal() or int(word) < smallest:
        raise ImproperlyConfigured(f"{name}={word}: use a whole number from {smallest}")
    return int(word)


def read_address(name: str, default: str) -> str:
    """The variable as `http(s)://host[:port]`, without a slash at the end."""
    word = read_text(name, default)
    address = word.rstrip("/")
    parts = urlsplit(address)
    bare = not (parts.path or parts.query or parts.fragment or parts.username)
    if parts.scheme not in ("http", "https") or not parts.hostname or not bare:
        raise ImproperlyConfigured(f"{name}={word}: use http://HOST:PORT or https://HOST")
    return address
