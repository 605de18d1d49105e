"""Pages that take scans themselves."""

from __future__ import annotations

from django.http import HttpRequest

from crib.context import shell


def own_scan_field(request: HttpRequest) -> dict:
    """Context of a page whose own field takes the scans: the bar at its head has none then."""
    return {"shell": shell(request)["shell"] | {"scan_url": ""}}
