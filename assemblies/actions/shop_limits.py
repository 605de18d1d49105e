"""The limits that hold in this shop: the usual ones, or as set by somebody. Reads only."""

from __future__ import annotations

from assemblies.rules.stack import ShopLimits


def current_limits() -> ShopLimits:
    """Limits for every rule of a page; one query, so ask once and hand it on."""
    return ShopLimits()
