"""Small things to test with. Each maker makes one valid thing and lets a test change one fact."""

from __future__ import annotations

import itertools
from uuid import uuid4

from crib.actions import pieces, stock
from crib.models import (
    ColletFacts,
    CutterFacts,
    HolderFacts,
    Item,
    ItemKind,
    NutFacts,
    Person,
    Piece,
    Place,
    StudState,
)

PASSWORD = "a-long-test-passphrase"
_numbers = itertools.count(1)


def person(*roles: str, username: str = "", **fields) -> Person:
    """A person with `roles`; with none, somebody who may only look."""
    name = username or f"{'-'.join(roles) or 'nobody'}-{next(_numbers)}"
    held = {f"is_{role}": True for role in roles}
    return Person.objects.create_user(name, password=PASSWORD, **held, **fields)


def place(code: str = "", **fields) -> Place:
    return Place.objects.create(code=code or f"DRAWER {next(_numbers)}", **fields)


def item(kind: str = ItemKind.SPARE, code: str = "", **fields) -> Item:
    fields.setdefault("description", f"a {kind} for tests")
    return Item.objects.create(code=code or f"T-{kind}-{next(_numbers)}", kind=kind, **fields)


def holder_item(**facts) -> Item:
    made = item(ItemKind.HOLDER)
    defaults = {
        "interface": "ISO 30 router",
        "collet_series": "ER32",
        "nose_thread": "M40x1.5",
        "gauge_length_um": 50_000,
        "n_max_rpm": 24_000,
    }
    HolderFacts.objects.create(item=made, **defaults | facts)
    return made


def collet_item(clamp_max_um: int = 12_000, clamp_min_um: int = 11_000, **facts) -> Item:
    made = item(ItemKind.COLLET)
    defaults = {"series": "ER32", "length_um": 40_000}
    ColletFacts.objects.create(
        item=made, clamp_max_um=clamp_max_um, clamp_min_um=clamp_min_um, **defaults | facts
    )
    return made


def nut_item(**facts) -> Item:
    made = item(ItemKind.NUT)
    defaults = {"series": "ER32", "thread": "M40x1.5", "n_max_rpm": 24_000}
    NutFacts.objects.create(item=made, **defaults | facts)
    return made


def cutter_item(**facts) -> Item:
    made = item(ItemKind.CUTTER)
    defaults = {
        "kind": "compression",
        "diameter_um": 12_000,
        "shank_um": 12_000,
        "plain_shank_um": 41_000,
        "overall_um": 83_000,
        "flute_um": 42_000,
        "teeth": 2,
        "hand": "right",
        "n_max_rpm": 24_000,
    }
    CutterFacts.objects.create(item=made, **defaults | facts)
    return made


def piece(of: Item, at: Place, mark: str = "", by: Person | None = None, **fields) -> Piece:
    """A marked piece, booked in at a rack through the ledger."""
    if of.kind == ItemKind.HOLDER:
        fields.setdefault("stud_state", StudState.FITTED)
        fields.setdefault("stud_pattern", "A")
    made = Piece(item=of, mark=mark or f"M-{next(_numbers)}", **fields)
    pieces.add_piece(by=by or person("admin"), submission=uuid4(), piece=made, at_place=at)
    return made


def stocked(of: Item, at: Place, quantity: int = 5, by: Person | None = None) -> Item:
    """`of`, with loose pieces at a rack."""
    stock.receive(
        by=by or person("admin"), submission=uuid4(), item=of, quantity=quantity, to_place=at
    )
    return of
