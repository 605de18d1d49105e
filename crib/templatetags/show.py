"""How a page prints a length, a torque, a finding's level and the shapes that go with it.

Templates load it with `{% load show %}`. Every picture is drawn here, takes the colour of
the text round it and is hidden from screen readers: the word beside it says the same.
"""

from __future__ import annotations

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from crib.rules.units import show_length, show_mm, show_nm

register = template.Library()

NOT_KNOWN = "not known"
#: Below this, millimetres are runout or a tolerance and show the micrometre.
FINE_MM = 0.1

LEVEL_WORDS = {
    "pass": "Agrees",
    "note": "Note",
    "check": "Check",
    "unknown": "Not known",
    "stop_soft": "Stop – toolroom or lead may override",
    "stop_hard": "Stop – nobody may override",
}

VERDICT_WORDS = {
    "match": "MATCH",
    "check": "CHECK",
    "stop": "STOP",
    "cant_tell": "CAN'T TELL",
}

# Shapes on a field of 48 x 48.
_OCTAGON = "M15 3h18l12 12v18L33 45H15L3 33V15z"
_TRIANGLE = "M24 5 45 42H3z"
_SQUARE_TICK = (
    '<path fill="none" stroke="currentColor" stroke-width="5" d="M5 5h38v38H5z"/>'
    '<path fill="none" stroke="currentColor" stroke-width="6" d="m13 24 8 9 14-18"/>'
)
_TRIANGLE_MARK = (
    f'<path fill="none" stroke="currentColor" stroke-width="5" stroke-linejoin="round"'
    f' d="{_TRIANGLE}"/>'
    '<path fill="none" stroke="currentColor" stroke-width="5" d="M24 18v12m0 3v5"/>'
)
_DASHED_RING = (
    '<circle cx="24" cy="24" r="19.5" fill="none" stroke="currentColor" stroke-width="6"'
    ' stroke-dasharray="9.2 6.117"/>'
)
_OCTAGON_BAR = (
    f'<path fill="none" stroke="currentColor" stroke-width="5" d="{_OCTAGON}"/>'
    '<path fill="none" stroke="currentColor" stroke-width="8" d="M13 24h22"/>'
)
_FULL_OCTAGON_BAR = (
    f'<path fill="currentColor" fill-rule="evenodd" d="{_OCTAGON}M12 19.500v9h24v-9z"/>'
)
_PAGE_LINES = (
    '<path fill="none" stroke="currentColor" stroke-width="4" d="M8 4h24l8 8v32H8z"/>'
    '<path fill="none" stroke="currentColor" stroke-width="4" d="M15 20h18m-18 8h18m-18 8h11"/>'
)

_LEVEL_SHAPES = {
    "pass": _SQUARE_TICK,
    "note": _PAGE_LINES,
    "check": _TRIANGLE_MARK,
    "unknown": _DASHED_RING,
    "stop_soft": _OCTAGON_BAR,
    "stop_hard": _FULL_OCTAGON_BAR,
}

_VERDICT_SHAPES = {
    "match": _SQUARE_TICK,
    "check": _TRIANGLE_MARK,
    "cant_tell": _DASHED_RING,
    "stop": _FULL_OCTAGON_BAR,
}

# Single-stroke figures as an engraving cutter runs them: centre lines on a field of 32 x 70.
# The 3 has a flat top, the 6 and the 9 open tails, the 1 a foot: none passes for another
# when half of it is dirty.
_ENGRAVED = {
    "T": "M0 0H32M16 0V70",
    "0": "M16 0C25.6 0 32 8 32 22V48C32 62 25.6 70 16 70S0 62 0 48V22C0 8 6.4 0 16 0Z",
    "1": "M5.6 13 17.6 0V70M4.8 70H30.4",
    "2": "M0.8 19C1.6 7 8 0 16 0 25.6 0 31.2 7 31.2 18 31.2 28 27.2 34 20.8 42L0 70H32",
    "3": "M1.6 0H30.4L13.6 28C25.6 28 32 36 32 49 32 62 25.6 70 15.2 70 7.2 70 1.6 65 0 56",
    "4": "M24 70V0L0 50H32",
    "5": "M29.6 0H4.8L2.4 31C6.4 27 11.2 25 16 25 26.4 25 32 34 32 47 32 61 25.6 70 15.2"
    " 70 7.2 70 1.6 65 0 57",
    "6": "M26.4 0C10.4 13 0 29 0 48 0 62 6.4 70 16 70S32 62 32 48 25.6 27 16 27C8.8 27 2.4 33 0 43",
    "7": "M0 0H32L11.2 70",
    "8": "M16 32C7.2 32 2.4 25 2.4 16S8 0 16 0 29.6 6 29.6 16 24.8 32 16 32C6.4 32 0 40 0"
    " 51S6.4 70 16 70 32 62 32 51 25.6 32 16 32Z",
    "9": "M5.6 70C21.6 57 32 41 32 22 32 8 25.6 0 16 0S0 8 0 22 6.4 43 16 43C23.2 43 29.6 37 32 27",
}
_FIGURE_STEP = 46
_FIGURE_WIDTH = 32
_FIGURE_HEIGHT = 70
_STROKE = 11


@register.filter
def mm(value_um: int | None, decimals: int = 2) -> str:
    """`12700|mm:2` -> `12.70`; without the unit, more decimals where rounding would hide some."""
    return show_mm(value_um, int(decimals))


@register.simple_tag
def length(value_um: int | None, bought_in_inches: bool = False, decimals: int = 2) -> str:
    """`{% length item.um item.inch %}` -> `12.70 mm = 1/2 in`."""
    return show_length(value_um, bool(bought_in_inches), int(decimals))


@register.filter
def torque(value_mnm: int | None) -> str:
    """`136000|torque` -> `136 N·m`."""
    return NOT_KNOWN if value_mnm is None else f"{show_nm(value_mnm)} N·m"


@register.filter
def rpm(value_rpm: int | None) -> str:
    """`18000|rpm` -> `18000 1/min`; not grouped, so that it reads as the S word does."""
    return NOT_KNOWN if value_rpm is None else f"{value_rpm} 1/min"


@register.filter
def figure(value: object, unit: str = "") -> str:
    """A finding's number with its unit: no idle zeros, but millimetres with two or three decimals.

    `0.02|figure:"mm"` -> `0.020 mm`, so that found and limit read alike.
    """
    if value is None:
        return NOT_KNOWN
    if unit == "mm":
        fine = abs(value) < FINE_MM or round(value, 2) != round(value, 3)
        return f"{value:.{3 if fine else 2}f} mm"
    if isinstance(value, float):
        value = f"{value:.4f}".rstrip("0").rstrip(".")
    return f"{value} {unit}".rstrip()


@register.filter
def level_word(level: str) -> str:
    """The word people read for a finding's level. Raises KeyError for a level that is none."""
    return LEVEL_WORDS[str(level)]


@register.simple_tag
def level_icon(level: str) -> SafeString:
    """The shape of a finding's level; a level without a shape raises KeyError."""
    return _picture(_LEVEL_SHAPES[str(level)])


@register.simple_tag
def verdict_icon(word_key: str) -> SafeString:
    """The shape of one of the four verdicts; another key raises KeyError."""
    return _picture(_VERDICT_SHAPES[str(word_key)])


@register.simple_tag
def plate_mark() -> SafeString:
    """The house mark: a tool tag with a holder on its gauge line."""
    return _picture(
        '<path fill="none" stroke="currentColor" stroke-width="2.500" d="M12 3h33v42H3V12z"/>'
        '<path fill="currentColor" d="M18 9h16l-4 13h-8zM16 24h20v4H16zM19 30h14l-2 5H21z"/>'
        '<path stroke="currentColor" stroke-width="4" d="M26 35v8"/>'
        '<path stroke="currentColor" stroke-width="1.500" d="M7 23h38"/>'
    )


@register.simple_tag
def engraved_t(tool_number: int) -> SafeString:
    """A T number in engraved figures, with the same as text for readers and for search."""
    text = f"T{int(tool_number)}"
    strokes = format_html_join(
        "",
        '<path transform="translate({} 0)" d="{}"/>',
        ((place * _FIGURE_STEP, _ENGRAVED[sign]) for place, sign in enumerate(text)),
    )
    width = (len(text) - 1) * _FIGURE_STEP + _FIGURE_WIDTH + _STROKE
    edge = _STROKE / 2
    return format_html(
        '<span class="visually-hidden">{}</span><svg class="engraved" aria-hidden="true"'
        ' viewBox="{} {} {} {}" fill="none" stroke="currentColor" stroke-width="{}"'
        ' stroke-linejoin="round">{}</svg>',
        text,
        -edge,
        -edge,
        width,
        _FIGURE_HEIGHT + _STROKE,
        _STROKE,
        strokes,
    )


@register.filter
def field_kind(field: object) -> str:
    """How `_field.html` lays a field out: `tick`, `long` (several lines) or `line`."""
    kinds = {"CheckboxInput": "tick", "Textarea": "long"}
    return kinds.get(type(field.field.widget).__name__, "line")


def _picture(shapes: str) -> SafeString:
    """One drawn shape; `shapes` is this module's own constant, never anybody's input."""
    return mark_safe(f'<svg viewBox="0 0 48 48" aria-hidden="true">{shapes}</svg>')
