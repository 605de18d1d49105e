"""The form of a code that is compared and searched: the same on every database."""

from __future__ import annotations

import unicodedata


def key_of(text: str) -> str:
    """`text` without blanks at its ends, compatibility forms and case folded.

    >>> key_of(" H-07 "), key_of("STRASSE") == key_of("Straße")
    ('h-07', True)
    """
    return unicodedata.normalize("NFKC", text).strip().casefold()
