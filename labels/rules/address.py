"""The address inside the square symbol, and how large a symbol it needs.

The scheme stays lower case, because several phones do not open `HTTP://`; all the rest is upper
case, because the symbol packs capitals in 5.5 bits a letter instead of 8 (ISO/IEC 18004).
"""

from __future__ import annotations

import ipaddress
import re
from urllib.parse import urlsplit

from crib.rules.finding import Finding, Level
from labels.rules.code import passes_check

#: Letters that ISO/IEC 18004 packs two in eleven bits.
PACKED_LETTERS = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
#: Data codewords by error correction level and version 1..4 (ISO/IEC 18004, table 7).
_DATA_BYTES = {"M": (16, 28, 44, 64), "Q": (13, 22, 34, 48)}
LARGEST_VERSION = 4
EASY_VERSION = 3
#: Any code stands for all: every code has the same length and the same kind of letters.
_SAMPLE_CODE = "7K2M9QXR4"
_HOST = re.compile(r"[A-Za-z0-9._:\[\]-]+")


class AddressRefused(ValueError):
    """The base address cannot stand on a label; `finding` says why, for people."""

    def __init__(self, finding: Finding):
        super().__init__(finding.text)
        self.finding = finding


def label_url(base_url: str, code: str) -> str:
    """The text for the symbol of the label with `code`, under the shop's `base_url`.

    Raises AddressRefused for a base address that no label can carry, ValueError for a code that
    fails its check.

    >>> label_url("http://crib.local:8000", "7K2M9QXR4")
    'http://CRIB.LOCAL:8000/S/7K2M9QXR4'
    """
    if not passes_check(code):
        raise ValueError("Not a label code: the check letter does not agree.")
    for finding in judge_base_url(base_url):
        if finding.level.is_stop:
            raise AddressRefused(finding)
    return _url_text(base_url, code)


def _url_text(base_url: str, code: str) -> str:
    parts = urlsplit(base_url.strip())
    return f"{parts.scheme.lower()}://{parts.netloc.upper()}/S/{code}"


def is_packed(letters: str) -> bool:
    """Whether the symbol can pack `letters` in its alphanumeric mode."""
    return PACKED_LETTERS.issuperset(letters)


def symbol_segments(text: str) -> tuple[str, ...]:
    """`text` cut where the symbol changes its way of packing: scheme, then the capitals.

    Text whose rest cannot be packed (an underscore, an IPv6 bracket) stays in one piece.

    >>> symbol_segments("http://CRIB.LOCAL/S/7K2M9QXR4")
    ('http', '://CRIB.LOCAL/S/7K2M9QXR4')
    """
    scheme, colon, rest = text.partition(":")
    return (scheme, colon + rest) if rest and is_packed(rest) else (text,)


def symbol_version(text: str, level: str = "Q") -> int | None:
    """The smallest symbol version (1 .. 4) that holds `text` at correction `level` (`M`, `Q`).

    None when it needs more than version 4. Source: ISO/IEC 18004, table 7 and clause 7.4.

    >>> symbol_version("http://CRIB.LOCAL:8000/S/7K2M9QXR4")
    3
    """
    bits = sum(_segment_bits(segment) for segment in symbol_segments(text))
    for version, capacity in enumerate(_DATA_BYTES[level], start=1):
        if bits <= capacity * 8:
            return version
    return None


def _segment_bits(segment: str) -> int:
    # Mode indicator 4 bits; count 9 or 8 bits in versions 1 to 9.
    if is_packed(segment):
        return 4 + 9 + 11 * (len(segment) // 2) + 6 * (len(segment) % 2)
    return 4 + 8 + 8 * len(segment.encode())


def judge_base_url(base_url: str) -> list[Finding]:
    """What is to be said about `base_url` before labels carry it; empty when nothing is.

    >>> [f.code for f in judge_base_url("http://crib.local:8000")]
    []
    >>> [f.code for f in judge_base_url("http://localhost:8000")]
    ['address.this_machine_only']
    """
    if not _is_base_url(base_url):
        return [_NOT_A_BASE_URL]
    findings = [_THIS_MACHINE_ONLY] if _is_loopback(base_url) else []
    size = _judge_size(base_url)
    return findings + ([size] if size else [])


def _is_base_url(base_url: str) -> bool:
    try:
        parts = urlsplit(base_url.strip())
        valid_host = bool(parts.hostname) and parts.port != 0
    except ValueError:
        return False
    return (
        parts.scheme in ("http", "https")
        and valid_host
        and _HOST.fullmatch(parts.netloc) is not None
        and parts.path in ("", "/")
        and not (parts.query or parts.fragment)
    )


def _is_loopback(base_url: str) -> bool:
    host = urlsplit(base_url.strip()).hostname or ""
    if host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return False
    return address.is_loopback or address.is_unspecified


def _judge_size(base_url: str) -> Finding | None:
    text = _url_text(base_url, _SAMPLE_CODE)
    version = symbol_version(text)
    if version is not None and version <= EASY_VERSION:
        return None
    limit = _longest_text(text, EASY_VERSION if version else LARGEST_VERSION)
    over = len(text) - limit
    return Finding(
        code="address.large_symbol" if version else "address.too_long",
        level=Level.CHECK if version else Level.STOP_HARD,
        text=f"Label address has {len(text)} letters, {over} over {limit}.",
        measured=len(text),
        limit=limit,
        remedy=f"Use a host name shorter by {over} letters.",
        source="ISO/IEC 18004, table 7",
    )


def _longest_text(text: str, version: int) -> int:
    longest = len(text)
    while longest and (symbol_version(text[:longest]) or LARGEST_VERSION + 1) > version:
        longest -= 1
    return longest


_NOT_A_BASE_URL = Finding(
    code="address.not_a_base_url",
    level=Level.STOP_HARD,
    text="The base address is not http or https with a host only.",
    remedy="Set it like http://crib.local:8000, without path, name or password.",
)
_THIS_MACHINE_ONLY = Finding(
    code="address.this_machine_only",
    level=Level.CHECK,
    text="The base address is reachable on this machine only.",
    remedy="Set a host name that phones in the shop can reach, then print again.",
)
