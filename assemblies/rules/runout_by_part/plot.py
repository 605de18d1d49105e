"""What each part adds to the runout, as a small picture: a dot, its reach, and the line of zero.

SVG with classes only; the same numbers stand in the table beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from math import ceil

from assemblies.rules.runout_by_part.parts import STANDARD_ERRORS, PartSays, Word

#: Measures of the picture, in its own units.
_LEFT, _WIDTH, _RIGHT, _ROW, _HEAD, _FOOT = 92, 260, 20, 24, 8, 26
#: More rows are no small picture any more; those worst against their own kind are drawn.
MOST_ROWS = 16
#: Steps of the scale [um] that read well.
_STEPS_UM = (1, 2, 5, 10, 20, 50, 100, 200, 500)


def part_plot(rows: Sequence[PartSays]) -> str:
    """An `svg` of the parts of which something may be said; empty text where there are none.

    >>> part_plot([])
    ''
    """
    drawn = [row for row in rows if row.adds_um is not None][:MOST_ROWS]
    if not drawn:
        return ""
    reach_um = max(abs(row.adds_um) + STANDARD_ERRORS * row.adds_error_um for row in drawn)
    step_um = next((s for s in _STEPS_UM if ceil(reach_um / s) <= 4), _STEPS_UM[-1])
    edge_um = step_um * max(ceil(reach_um / step_um), 1)
    floor = _HEAD + _ROW * len(drawn)
    lines = (
        *_scale(edge_um, step_um, floor),
        *(_row(row, place, edge_um) for place, row in enumerate(drawn)),
    )
    return (
        f'<svg class="runout-plot" viewBox="0 0 {_LEFT + _WIDTH + _RIGHT} {floor + _FOOT}"'
        ' role="img" aria-labelledby="runout-plot-name runout-plot-text">'
        '<title id="runout-plot-name">What each part adds to the runout</title>'
        f'<desc id="runout-plot-text">{escape(_description(drawn))}</desc>{"".join(lines)}</svg>'
    )


def _description(rows: Sequence[PartSays]) -> str:
    said = "; ".join(f"{row.part.name} {row.adds_um:+.1f}" for row in rows)
    return f"In µm, with twice the standard error to both sides: {said}."


def _x(value_um: float, edge_um: int) -> str:
    return f"{_LEFT + _WIDTH * (value_um + edge_um) / (2 * edge_um):.1f}"


def _scale(edge_um: int, step_um: int, floor: int):
    for value_um in range(-edge_um, edge_um + 1, step_um):
        x = _x(value_um, edge_um)
        look = "runout-zero" if value_um == 0 else "runout-grid"
        yield f'<line class="{look}" x1="{x}" y1="{_HEAD - 4}" x2="{x}" y2="{floor}"/>'
        text = f"{value_um:+d}" if value_um else "0"
        yield f'<text class="runout-tick" x="{x}" y="{floor + 16}">{text}</text>'


def _row(row: PartSays, place: int, edge_um: int) -> str:
    """A part's name, its reach and its mark; a part to look at has a square, others a ring."""
    y = _HEAD + _ROW * place + _ROW / 2
    reach_um = STANDARD_ERRORS * row.adds_error_um
    low, high = (_x(row.adds_um + way * reach_um, edge_um) for way in (-1, 1))
    x = float(_x(row.adds_um, edge_um))
    mark = f'<circle class="runout-dot" cx="{x:.1f}" cy="{y}" r="5"/>'
    if row.word == Word.LOOK:
        mark = f'<rect class="runout-look" x="{x - 6:.1f}" y="{y - 6}" width="12" height="12"/>'
    return (
        f'<text class="runout-name" x="{_LEFT - 8}" y="{y + 5}">{escape(row.part.name[:11])}</text>'
        f'<line class="runout-reach" x1="{low}" y1="{y}" x2="{high}" y2="{y}"/>{mark}'
    )
