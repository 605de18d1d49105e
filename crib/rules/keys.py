"""The form of a code that is compared and searched: the same on every database."""

from __future__ import annotations

import unicodedata


def key_of(text: str) -> str:
    """`text` without blanks at its ends, compatibility forms and case folded.

    >>> key_of(" H-07 "), key_of("STRASSE") == key_of("Straße")
    ('h-07', True)
    """
    return unicodedata.normalize("NFKC", text).strip().casefold()


def squeezed(text: str) -> str:
    """The key of `text` with letters and digits only: how a code is said and typed in a hurry.

    >>> squeezed("H 07"), squeezed("h-07") == squeezed("H07")
    ('h07', True)
    """
    return "".join(sign for sign in key_of(text) if sign.isalnum())
