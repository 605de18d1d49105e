"""Data of the crib. Import from here: `from crib.models import Item`."""

from crib.models.items import (
    Clamping,
    ColletFacts,
    CutterFacts,
    Hand,
    HolderFacts,
    InsertFacts,
    Item,
    ItemKind,
    NutFacts,
    PullStudFacts,
    ShankForm,
)
from crib.models.ledger import Movement, Reason
from crib.models.life import Use
from crib.models.log import Act, UnknownCode
from crib.models.people import Person
from crib.models.pieces import Condition, Piece, StudState
from crib.models.places import Place, PlaceKind
from crib.models.suppliers import OrderLine, Supplier

__all__ = [
    "Act",
    "Clamping",
    "ColletFacts",
    "Condition",
    "CutterFacts",
    "Hand",
    "HolderFacts",
    "InsertFacts",
    "Item",
    "ItemKind",
    "Movement",
    "NutFacts",
    "OrderLine",
    "Person",
    "Piece",
    "Place",
    "PlaceKind",
    "PullStudFacts",
    "Reason",
    "ShankForm",
    "StudState",
    "Supplier",
    "UnknownCode",
    "Use",
]
