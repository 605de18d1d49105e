"""Numbers as findings carry and print them."""

from __future__ import annotations

from crib.rules.units import mm_from_um, nm_from_mnm, show_mm


def in_mm(value_um: int | None) -> float | None:
    """Millimetres [mm] of a length [um] for the numbers of a finding; None stays None.

    >>> in_mm(6_350)
    6.35
    """
    return None if value_um is None else float(mm_from_um(value_um))


def in_nm(value_mnm: int | None) -> float | None:
    """Newton metres [N·m] of a torque [mN·m]; None stays None.

    >>> in_nm(136_000)
    136.0
    """
    return None if value_mnm is None else float(nm_from_mnm(value_mnm))


def in_thousands(value: int) -> str:
    """A mass [g] in kg or a moment [mN·m] in N·m, two decimals; three where two would hide a part.

    >>> in_thousands(960), in_thousands(959)
    ('0.96', '0.959')
    """
    return show_mm(value)


def at_least(value_um: int) -> str:
    """A least length [um] in millimetres, one decimal, rounded up: 26.667 prints as 26.7.

    >>> at_least(26_667), at_least(24_000)
    ('26.7', '24.0')
    """
    return show_mm(-(-value_um // 100) * 100, decimals=1)


def shown_range(clamp_max_um: int | None, clamp_min_um: int | None) -> str:
    """Range of a collet as its face carries it, largest first.

    >>> shown_range(7_000, 6_000), shown_range(12_700, 11_700)
    ('7–6', '12.7–11.7')
    """
    return f"{_short(clamp_max_um)}–{_short(clamp_min_um)}"


def _short(value_um: int | None) -> str:
    return "?" if value_um is None else f"{mm_from_um(value_um).normalize():f}"
