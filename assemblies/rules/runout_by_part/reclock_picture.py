"""Two readings of the re-clock test and what they come to, as arrows on the clock of the holder.

SVG with classes only; the same numbers stand beside it as text.
"""

from __future__ import annotations

from html import escape

from assemblies.rules.runout_by_part.geometry import Arrow
from assemblies.rules.runout_by_part.reclock import Split

#: Half the side of the picture, and the length of its longest arrow.
_HALF, _REACH = 110, 84
#: How far a letter stands from its arrow.
_BESIDE = 14


def clock_picture(first: Arrow, second: Arrow, found: Split, name: str) -> str:
    """An `svg` with the rest of the stack and the part `name` as arrows from the middle.

    >>> from assemblies.rules.runout_by_part.reclock import split
    >>> a, b = Arrow(14, 30), Arrow(6, 200)
    >>> clock_picture(a, b, split(a, b, 1), "Collet").startswith('<svg class="clock"')
    True
    """
    longest_um = max(arrow.size_um for arrow in (first, second, found.rest, found.part)) or 1
    parts = (
        f'<circle class="clock-face" cx="0" cy="0" r="{_REACH + 8}"/>',
        f'<path class="clock-slot" d="M-7 {-_REACH - 14}h14v10h-14z"/>',
        _dot(first, longest_um, "1"),
        _dot(second, longest_um, "2"),
        _arrow(found.rest, longest_um, "rest", "R", 90),
        _arrow(found.part, longest_um, "part", "P", -90),
    )
    text = (
        f"P, {name}: {_said(found.part)}. R, rest of the stack: {_said(found.rest)}."
        f" 1, first reading: {_said(first)}. 2, second reading: {_said(second)}."
    )
    return (
        f'<svg class="clock" viewBox="{-_HALF} {-_HALF} {2 * _HALF} {2 * _HALF}" role="img"'
        ' aria-labelledby="clock-name clock-text"><title id="clock-name">High spots on the clock'
        f' of the mark</title><desc id="clock-text">{escape(text)}</desc>{"".join(parts)}</svg>'
    )


def _said(arrow: Arrow) -> str:
    return f"{arrow.size_um / 1000:.3f} mm at {round(arrow.angle_deg) % 360}°"


def _at(arrow: Arrow, longest_um: float) -> tuple[float, float]:
    """Where an arrow ends: 12 o'clock is up, and the clock runs clockwise."""
    along, across = Arrow(arrow.size_um / longest_um * _REACH, arrow.angle_deg).xy
    return across, -along


def _arrow(arrow: Arrow, longest_um: float, look: str, letter: str, beside_deg: int) -> str:
    """An arrow with its letter beside the tip, each kind on its own side."""
    x, y = _at(arrow, longest_um)
    along, across = Arrow(_BESIDE, arrow.angle_deg + beside_deg).xy
    tip = f'<circle class="clock-{look}-tip" cx="{x:.1f}" cy="{y:.1f}" r="4"/>'
    return (
        f'<line class="clock-{look}" x1="0" y1="0" x2="{x:.1f}" y2="{y:.1f}"/>{tip}'
        f'<text class="clock-letter" x="{x + across:.1f}" y="{y - along + 5:.1f}">{letter}</text>'
    )


def _dot(arrow: Arrow, longest_um: float, letter: str) -> str:
    x, y = _at(arrow, longest_um)
    return (
        f'<circle class="clock-reading" cx="{x:.1f}" cy="{y:.1f}" r="9"/>'
        f'<text class="clock-number" x="{x:.1f}" y="{y + 4:.1f}">{letter}</text>'
    )
