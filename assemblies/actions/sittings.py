"""What comes of one sitting with one instrument, before it is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assemblies.models import Quantity
from assemblies.rules.repeatability import Repeatability, counted_um, repeatability
from crib.models import Instrument

FULL_TURN_DEG = 360


@dataclass(frozen=True)
class Reading:
    """What counts of one sitting with one instrument [um]; `distance_um` from the nut face.

    `read_on`, `distance_um` and `clock_deg` belong to runout. `readings_um` are the single readings
    where there were several. `measured_with` is the instrument when it is on record; its U goes
    into the row, unless `uncertainty_um` says that of an earlier day.
    """

    quantity: str
    value_um: int
    distance_um: int | None = None
    instrument: str = ""
    note: str = ""
    read_on: str = ""
    clock_deg: int | None = None
    readings_um: tuple[int, ...] = ()
    measured_with: Instrument | None = None
    uncertainty_um: int | None = None

    @property
    def label(self) -> str:
        return Quantity(self.quantity).label

    @property
    def repeats(self) -> Repeatability | None:
        """How the single readings of this sitting repeat; None where there is one only."""
        return repeatability([self.readings_um])

    @classmethod
    def of(cls, quantity: str, readings_um: Sequence[int], **more) -> Reading:
        """The reading of a sitting: median or, of runout, the largest counts."""
        return cls(
            quantity, counted_um(quantity, readings_um), readings_um=tuple(readings_um), **more
        )
