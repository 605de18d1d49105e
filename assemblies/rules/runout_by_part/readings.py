"""Which readings of runout may be compared at all, and why the others are left out.

Runout grows with the distance where the axis leans, and flutes give no continuous trace. So only
readings on a round shank or a test bar count, at distances close to one another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from assemblies.rules.runout_by_part.graph import Part

#: Readings this far from the common distance still count [um]. Own choice.
NEAR_UM = 10_000
ROUND_PLACES = ("shank", "bar")

#: Why a reading is left out, in words, in the order in which they are asked.
LEFT_OUT: dict[str, str] = {
    "carried_over": "carried over to a later revision: it counts once",
    "flutes": "read on flutes, which give no continuous trace",
    "nose": "read at the nose of the holder, before collet and cutter",
    "place": "not said what was touched",
    "distance": "not said how far from the nut face",
    "far": "too far from the distance at which most were read",
    "older": "a later reading of the same clamping counts",
}


@dataclass(frozen=True, slots=True)
class RunoutReading:
    """One reading [um], handed over in the order in which they were taken.

    key          of the row it stands in
    clamping     of one putting-together; a revision made by measuring alone shares it
    taken        assembly and moment: a reading carried over to the next revision has it again
    """

    key: int
    clamping: int
    taken: str
    value_um: int
    read_on: str
    distance_um: int | None
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Chosen:
    """The readings that count, one of a clamping, and why each of the others does not.

    `distance_um` is the middle of the distances that count; None where nothing counts.
    """

    used: tuple[RunoutReading, ...]
    left_out: tuple[tuple[RunoutReading, str], ...]
    distance_um: int | None

    @property
    def counts(self) -> list[tuple[str, int]]:
        """Why readings were left out, in words, and how many for each reason."""
        found = Counter(why for _, why in self.left_out)
        return [(LEFT_OUT[why], found[why]) for why in LEFT_OUT if found[why]]


def choose(readings: Sequence[RunoutReading]) -> Chosen:
    """The comparable readings, the last of each clamping; on a test bar without the cutter.

    Source: own choice, for the reasons at the head of this file.

    >>> holder = (Part("holder", "H-01"),)
    >>> found = choose([RunoutReading(1, 1, "1044 8:00", 9, "flutes", 36_000, holder)])
    >>> found.used, found.counts
    ((), [('read on flutes, which give no continuous trace', 1)])
    """
    why = _unfit_places(readings)
    middle_um = common_distance_um([r.distance_um for n, r in enumerate(readings) if n not in why])
    last: dict[int, int] = {}
    for place, reading in enumerate(readings):
        if place in why:
            continue
        if abs(reading.distance_um - middle_um) > NEAR_UM:
            why[place] = "far"
            continue
        if reading.clamping in last:
            why[last[reading.clamping]] = "older"
        last[reading.clamping] = place
    used = tuple(_without_cutter(readings[place]) for place in last.values())
    left_out = tuple((readings[place], why[place]) for place in sorted(why))
    return Chosen(used, left_out, middle_um if used else None)


def _unfit_places(readings: Sequence[RunoutReading]) -> dict[int, str]:
    """Which readings compare with no other, by their place in the list, and why."""
    seen: set[str] = set()
    why: dict[int, str] = {}
    for place, reading in enumerate(readings):
        said = "carried_over" if reading.taken in seen else _unfit(reading)
        seen.add(reading.taken)
        if said:
            why[place] = said
    return why


def _unfit(reading: RunoutReading) -> str:
    if reading.read_on in ("flutes", "nose"):
        return reading.read_on
    if reading.read_on not in ROUND_PLACES:
        return "place"
    return "distance" if reading.distance_um is None else ""


def common_distance_um(distances_um: Sequence[int]) -> int:
    """The distance [um] near which most were read; of several the smallest. 0 for none.

    >>> common_distance_um([30_000, 36_000, 38_000, 90_000])
    30000
    """
    return max(
        sorted(set(distances_um)),
        key=lambda middle_um: sum(abs(um - middle_um) <= NEAR_UM for um in distances_um),
        default=0,
    )


def _without_cutter(reading: RunoutReading) -> RunoutReading:
    if reading.read_on != "bar":
        return reading
    return replace(reading, parts=tuple(p for p in reading.parts if p.kind != "cutter"))
