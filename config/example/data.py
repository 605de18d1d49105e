"""The example shop as written down: one file of facts, one file for each program."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

from crib.rules.units import mnm_from_nm, um_from_mm

FOLDER = Path(__file__).parent

#: Ending of a name in the file -> ending of the column, and what turns the one into the other.
_UNITS = {
    "_mm": ("_um", um_from_mm),
    "_nm": ("_mnm", mnm_from_nm),
    "_hours": ("_minutes", lambda hours: hours * 60),
}


@lru_cache(maxsize=1)
def shop() -> dict[str, Any]:
    """Everything but the program texts."""
    return json.loads((FOLDER / "shop.json").read_text(encoding="utf-8"))


def program_text(file_name: str) -> bytes:
    """One program as it would be handed in."""
    return (FOLDER / "programs" / file_name).read_bytes()


def in_columns(written: dict[str, Any]) -> dict[str, Any]:
    """Facts as written, under the names and in the whole units of the tables.

    >>> in_columns({"shank_mm": "6.35", "torque_nm": "25", "teeth": 2})
    {'shank_um': 6350, 'torque_mnm': 25000, 'teeth': 2}
    """
    return dict(_column(name, value) for name, value in written.items())


def _column(name: str, value: Any) -> tuple[str, Any]:
    for ending, (column_ending, convert) in _UNITS.items():
        if name.endswith(ending):
            return name.removesuffix(ending) + column_ending, convert(value)
    return name, value
