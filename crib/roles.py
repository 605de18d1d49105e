"""Who may do what: the one table of roles and permissions.

A person holds one or more roles. Every writing action names the permission it needs, and
so does every address; `tests/test_permissions.py` tries each address with each role.
"""

from __future__ import annotations

ROLES: dict[str, str] = {
    "operator": "Operator",
    "toolroom": "Toolroom",
    "programmer": "Programmer",
    "buyer": "Buyer",
    "lead": "Lead",
    "admin": "Admin",
}

#: Who may answer with a PIN for a stop that is overridden; nobody else is ever asked for one.
ASKED_FOR_PIN = frozenset({"toolroom", "lead"})

#: permission -> (what it allows, in words for the "not allowed" page; roles that hold it)
PERMISSIONS: dict[str, tuple[str, frozenset[str]]] = {
    "view": ("look at everything in the crib", frozenset(ROLES)),
    "items.edit": ("add and change items and pieces", frozenset({"toolroom", "buyer", "admin"})),
    "instruments.edit": (
        "add instruments and record their calibrations",
        frozenset({"toolroom", "admin"}),
    ),
    "limits.edit": ("change the shop's limits", frozenset({"lead", "admin"})),
    "places.edit": ("add and change places", frozenset({"toolroom", "admin"})),
    "stock.receive": ("book goods in", frozenset({"toolroom", "buyer", "admin"})),
    "stock.issue": (
        "take parts out and give them back",
        frozenset({"operator", "toolroom", "lead", "admin"}),
    ),
    "order.mark": ("mark lines as ordered", frozenset({"buyer", "admin"})),
    "assembly.build": ("start, build and measure assemblies", frozenset({"toolroom", "admin"})),
    "assembly.release": ("release assemblies", frozenset({"toolroom", "admin"})),
    "assembly.quarantine": (
        "take an assembly out of use",
        frozenset({"operator", "toolroom", "lead", "admin"}),
    ),
    "label.print": ("print labels", frozenset({"toolroom", "lead", "admin"})),
    "program.add": ("add programs and revisions", frozenset({"programmer", "lead", "admin"})),
    "program.confirm": (
        "confirm what each tool number must be",
        frozenset({"programmer", "lead", "admin"}),
    ),
    "program.approve": (
        "approve and withdraw program revisions",
        frozenset({"programmer", "lead", "admin"}),
    ),
    "machine.edit": ("add and change machines", frozenset({"lead", "admin"})),
    "check.decide": (
        "record what was loaded or refused",
        frozenset({"operator", "toolroom", "lead"}),
    ),
    "rules.watch": (
        "see which rules are accepted how often",
        frozenset({"toolroom", "lead", "admin"}),
    ),
    "check.names": ("see who made each check", frozenset({"lead", "admin"})),
    "people.manage": ("add people and give roles", frozenset({"admin"})),
}


def holders_of(permission: str) -> list[str]:
    """Names of the roles that hold `permission`, in the order of `ROLES`."""
    _, roles = PERMISSIONS[permission]
    return [name for role, name in ROLES.items() if role in roles]


def may(roles: frozenset[str] | set[str], permission: str) -> bool:
    """True when one of `roles` holds `permission`. Raises KeyError for an unknown permission."""
    _, allowed = PERMISSIONS[permission]
    return not allowed.isdisjoint(roles)
