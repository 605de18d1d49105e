"""Data of the crib. Import from here: `from crib.models import Item`."""

from crib.models.instruments import Calibration, CalibrationResult, Instrument, InstrumentKind
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
    SleeveFacts,
)
from crib.models.ledger import Movement, Reason
from crib.models.life import Use
from crib.models.log import Act, UnknownCode
from crib.models.people import Person
from crib.models.pieces import Condition, Piece, StudState
from crib.models.places import Place, PlaceKind
from crib.models.settings import SettingChange
from crib.models.suppliers import OrderLine, Supplier

__all__ = [
    "Act",
    "Calibration",
    "CalibrationResult",
    "Clamping",
    "ColletFacts",
    "Condition",
    "CutterFacts",
    "Hand",
    "HolderFacts",
    "InsertFacts",
    "Instrument",
    "InstrumentKind",
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
    "SettingChange",
    "ShankForm",
    "SleeveFacts",
    "StudState",
    "Supplier",
    "UnknownCode",
    "Use",
]
