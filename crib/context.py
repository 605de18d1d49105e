"""What the bar at the head of every page needs to know."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

from crib.roles import ASKED_FOR_PIN

#: (url name, label, permission of `crib.roles`).
NAV = (
    ("crib:home", "Home", "view"),
    ("assemblies:assembly_list", "Assemblies", "view"),
    ("assemblies:spindle", "Check a tool", "check.decide"),
    ("assemblies:program_list", "Programs", "view"),
    ("assemblies:machine_list", "Machines", "view"),
    ("crib:item_list", "Items", "view"),
    ("crib:place_list", "Places", "view"),
    ("crib:reorder", "Running low", "view"),
    ("assemblies:check_list", "Checks", "view"),
    ("assemblies:whereabouts", "Where tools are", "view"),
    ("crib:toolroom", "Toolroom", "view"),
    ("crib:people", "People", "people.manage"),
    ("crib:help", "Help", "view"),
)


@dataclass(frozen=True)
class NavEntry:
    """One line of the menu, with its address found."""

    url: str
    label: str
    current: bool


def shell(request: HttpRequest) -> dict:
    """The frame round a page: shop, menu by the person's permissions, who acts, station."""
    user = getattr(request, "user", None)
    person = user if user is not None and user.is_authenticated else None
    return {
        "shell": {
            "shop_name": getattr(settings, "SHOP_NAME", "Holderbook"),
            "demo": getattr(settings, "DEMO", False),
            "nav": _nav(person, request.path) if person else [],
            "acting": str(person) if person else "",
            "station": getattr(request, "station", None),
            "home_url": _url("crib:home") or "/",
            "scan_url": _url("labels:scan") if person else "",
            "station_url": _url("assemblies:station"),
            "pin_url": _url("crib:pin") if person and person.roles & ASKED_FOR_PIN else "",
            "sign_out_url": _url("crib:sign_out"),
        }
    }


def _nav(person: object, path: str) -> list[NavEntry]:
    """Entries this person may open; the longest address that leads to `path` is the current one."""
    places = [
        (url, label)
        for name, label, permission in NAV
        if person.may(permission) and (url := _url(name))
    ]
    here = max((url for url, _ in places if _leads_to(url, path)), key=len, default="")
    return [NavEntry(url, label, url == here) for url, label in places]


def _leads_to(url: str, path: str) -> bool:
    """Home leads to itself only; every other address also to what lies below it."""
    return path == url or (url != "/" and path.startswith(url))


def _url(name: str) -> str:
    """The address of `name`, or "" where that page does not exist."""
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""
