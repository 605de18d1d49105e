"""Where each text of a label stands: heights, what is dropped first, what is never cut.

All places are whole micrometres from the label's lower left corner. Widths of text come from a
function, because only the typeface knows them.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import Enum

UM_PER_POINT = 25400 / 72
_STEP_PT = 0.25
ELLIPSIS = "…"
_LOOSE_ENDS = "-–,;.·(/ "
#: Fewer letters than this before an ellipsis tell nobody anything.
_FEWEST_LETTERS = 4

#: Heights of the label typeface as parts of its size.
CAPITAL = 0.729
_ASCENDER = 0.765
_LOW_ACCENT = 0.81
_ACCENT = 0.945
_DESCENDER = 0.24
_OVERSHOOT = 0.015
_SHALLOW_DEPTH = 0.05
_DESCENDING = frozenset("JgjpqyQ,;()[]{}|/\\_$@")
_SHALLOW = frozenset("Øø")
_ON_THE_LINE = frozenset("–—…·ß°×÷±½¼¾²³¹æœÆŒđð")
_LONE_ACCENTS = frozenset("`´¨")
#: Unicode's combining classes of marks below and attached below.
_BELOW_CLASSES = (202, 220)

#: Least and largest white between two rows.
_TIGHTEST_UM = 150
_LOOSEST_UM = 1000

Measure = Callable[[str, bool, float], float]


class LabelTooSmall(ValueError):
    """Something that must never be cut or dropped does not fit the label; says what."""


class Keep(Enum):
    """What may happen to words that find no room."""

    WHOLE = "refuse the label"
    CUT = "end in an ellipsis"
    DROP = "print all or nothing"


@dataclass(frozen=True, slots=True)
class Words:
    """A text of one look: `cap_um` is the wanted height of capitals [um], `floor_um` the least."""

    text: str
    cap_um: int
    floor_um: int
    bold: bool = False
    keep: Keep = Keep.WHOLE


@dataclass(frozen=True, slots=True)
class Row:
    """Words on one baseline: `left` from the left border on, `right` up to the right border."""

    name: str
    left: tuple[Words, ...] = ()
    right: tuple[Words, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """The room for a layout [um]; the symbol's square includes its quiet zone."""

    width_um: int
    height_um: int
    inset_um: int
    symbol_side_um: int
    symbol_edge_um: int


@dataclass(frozen=True, slots=True)
class Placed:
    """Words with their place: baseline start and the box that holds all ink [um]."""

    row: str
    text: str
    bold: bool
    size_pt: float
    x_um: int
    baseline_um: int
    width_um: int
    bottom_um: int
    top_um: int

    @property
    def right_um(self) -> int:
        return self.x_um + self.width_um


@dataclass(frozen=True, slots=True)
class Layout:
    """All placed words, the corner of the symbol's square [um], and what found no room."""

    placed: tuple[Placed, ...]
    symbol_left_um: int
    symbol_bottom_um: int
    dropped: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Content:
    """The rows of a label from top to bottom.

    The `head` stands at the top and the `feet` at the bottom, over the whole width; the `body`
    stands beside the symbol. `drop_order` names the rows that may go, the first to go first.
    """

    head: Row
    body: tuple[Row, ...]
    feet: tuple[Row, ...]
    drop_order: tuple[str, ...]


def size_for_capitals(cap_um: int) -> float:
    """Size [pt], in quarter points, whose capitals are at least `cap_um` [um] high.

    >>> size_for_capitals(4000)
    15.75
    """
    return math.ceil(cap_um / CAPITAL / UM_PER_POINT / _STEP_PT) * _STEP_PT


def ink_span(text: str) -> tuple[float, float]:
    """How far the ink of `text` reaches below and above the baseline, as parts of the size.

    >>> ink_span("1044"), ink_span("gauge"), ink_span("É")
    ((0.015, 0.765), (0.24, 0.765), (0.015, 0.945))
    """
    return (
        max((_depth(letter) for letter in text), default=0.0),
        max((_height(letter) for letter in text), default=0.0),
    )


def _depth(letter: str) -> float:
    base, *marks = unicodedata.normalize("NFD", letter)
    if base in _DESCENDING:
        return _DESCENDER
    if base in _SHALLOW:
        return _SHALLOW_DEPTH
    hangs = any(unicodedata.combining(mark) in _BELOW_CLASSES for mark in marks)
    known = base.isascii() or base in _ON_THE_LINE
    return _OVERSHOOT if known and not hangs else _DESCENDER


def _height(letter: str) -> float:
    if letter in _LONE_ACCENTS:
        return _LOW_ACCENT
    base, *marks = unicodedata.normalize("NFD", letter)
    if not marks:
        return _ASCENDER if ord(base) < 0x180 or base in _ON_THE_LINE else _ACCENT
    return _LOW_ACCENT if base.islower() and letter != "å" else _ACCENT


def lay_out(content: Content, page: Page, measure: Measure) -> Layout:
    """Place `content` on `page`; rows go in their drop order until the rest has room.

    Raises LabelTooSmall when what must stay does not fit.
    """
    going = list(content.drop_order)
    dropped: list[str] = []
    while True:
        try:
            return _try_layout(_without(content, dropped), page, measure, dropped)
        except LabelTooSmall:
            present = {row.name for row in (*content.body, *content.feet)}
            going = [name for name in going if name in present]
            if not going:
                raise
            dropped.append(going.pop(0))


def _without(content: Content, names: Sequence[str]) -> Content:
    return Content(
        content.head,
        tuple(row for row in content.body if row.name not in names),
        tuple(row for row in content.feet if row.name not in names),
        content.drop_order,
    )


def _try_layout(content: Content, page: Page, measure: Measure, dropped: list[str]) -> Layout:
    lost = list(dropped)
    head = _fit(content.head, page.width_um - 2 * page.inset_um, measure, lost)
    below, above = _span_um(head)
    head_base = page.height_um - page.inset_um - above
    ceiling = head_base - below
    left = page.width_um - page.symbol_edge_um - page.symbol_side_um
    bottom = ceiling - page.symbol_side_um

    placed = _place(head, head_base, page)
    floor = page.inset_um
    for row in reversed(content.feet):
        fitted, baseline = _stand_on(row, floor, bottom, left, page, measure, lost)
        placed += _place(
            fitted, baseline, page, _right_border(baseline, fitted, bottom, left, page)
        )
        floor = baseline + _span_um(fitted)[1] + _TIGHTEST_UM
        if row is content.feet[-1] and floor - _TIGHTEST_UM > bottom:
            raise LabelTooSmall("The symbol and the code text do not fit one above the other.")
    placed += _place_body(content.body, ceiling, floor, left, page, measure, lost)
    return Layout(tuple(placed), left, bottom, tuple(lost))


@dataclass(frozen=True, slots=True)
class _Fitted:
    """A row whose words have their final text and size."""

    row: Row
    left: tuple[tuple[Words, float, int], ...]
    right: tuple[tuple[Words, float, int], ...]


def _stand_on(row, floor, bottom, left, page, measure, lost):
    """The row fitted to the width it finds when it stands on `floor`, and its baseline."""
    tried: list[str] = []
    fitted = _fit(row, page.width_um - 2 * page.inset_um, measure, tried)
    baseline = floor + _span_um(fitted)[0]
    if baseline + _span_um(fitted)[1] > bottom:
        tried = []
        fitted = _fit(row, left - page.inset_um, measure, tried)
        baseline = floor + _span_um(fitted)[0]
    lost += tried
    return fitted, baseline


def _right_border(baseline, fitted, bottom, left, page):
    beside = baseline + _span_um(fitted)[1] > bottom
    return left if beside else page.width_um - page.inset_um


def _place_body(rows, ceiling, floor, left, page, measure, lost) -> list[Placed]:
    fitted = [_fit(row, left - page.inset_um, measure, lost) for row in rows]
    # With room to spare every row keeps a descender's depth, so that the lines stand evenly.
    for spans in ([_even_span_um(row) for row in fitted], [_span_um(row) for row in fitted]):
        white = (ceiling - floor - sum(map(sum, spans))) // (len(fitted) + 2)
        if white >= _TIGHTEST_UM:
            return _stack(fitted, spans, ceiling, min(white, _LOOSEST_UM), page, left)
    raise LabelTooSmall("The lines beside the symbol are too many for this label.")


def _stack(fitted, spans, ceiling, white, page, left) -> list[Placed]:
    # The head stands off from the lines below it by twice the white between them.
    placed, top = [], ceiling - white
    for row, (below, above) in zip(fitted, spans, strict=True):
        baseline = top - white - above
        placed += _place(row, baseline, page, left)
        top = baseline - below
    return placed


def _place(fitted: _Fitted, baseline: int, page: Page, border: int | None = None) -> list[Placed]:
    border = page.width_um - page.inset_um if border is None else border
    placed, x = [], page.inset_um
    for item in fitted.left:
        placed.append(_placed(fitted.row.name, item, x, baseline))
        x = placed[-1].right_um + _blank_um(item[1])
    # Words alone on their row start at the left border, where the eye looks for them.
    x = border if fitted.left else x + sum(item[2] for item in fitted.right)
    for item in reversed(fitted.right):
        placed.append(_placed(fitted.row.name, item, x - item[2], baseline))
        x = placed[-1].x_um - _blank_um(item[1])
    return placed


def _placed(row: str, item: tuple[Words, float, int], x: int, baseline: int) -> Placed:
    words, size_pt, width = item
    below, above = _ink_um(words.text, size_pt)
    return Placed(
        row, words.text, words.bold, size_pt, x, baseline, width, baseline - below, baseline + above
    )


def _ink_um(text: str, size_pt: float) -> tuple[int, int]:
    below, above = ink_span(text)
    return math.ceil(below * size_pt * UM_PER_POINT), math.ceil(above * size_pt * UM_PER_POINT)


def _span_um(fitted: _Fitted) -> tuple[int, int]:
    spans = [_ink_um(words.text, size) for words, size, _ in fitted.left + fitted.right]
    return max((b for b, _ in spans), default=0), max((a for _, a in spans), default=0)


def _even_span_um(fitted: _Fitted) -> tuple[int, int]:
    below, above = _span_um(fitted)
    sizes = [size for _, size, _ in fitted.left + fitted.right]
    return max(below, math.ceil(_DESCENDER * min(sizes) * UM_PER_POINT)), above


def _blank_um(size_pt: float) -> int:
    return round(0.32 * size_pt * UM_PER_POINT)


def _fit(row: Row, room_um: int, measure: Measure, lost: list[str]) -> _Fitted:
    """The row in `room_um`: as wanted, else smaller, else with its weakest words cut or dropped."""
    left, right = list(row.left), list(row.right)
    while True:
        sizes = _shrunk_sizes(left, right, room_um, measure)
        if sizes is not None:
            return _sized(row, left, right, sizes, measure)
        weakest = _weakest(left + right)
        if weakest is None:
            raise LabelTooSmall(_too_long(row, left + right))
        side = left if weakest in left else right
        shorter = _shorter(weakest, left, right, room_um, measure)
        place = side.index(weakest)
        side[place : place + 1] = [shorter] if shorter else []
        if shorter is None:
            lost.append(f"{row.name}: {weakest.text}")


def _too_long(row: Row, words: list[Words]) -> str:
    text = " ".join(w.text for w in words)
    return f"{row.name} “{text}” is too long for this label and must not be cut."


def _sized(row, left, right, sizes, measure) -> _Fitted:
    items = [
        (words, size, math.ceil(measure(words.text, words.bold, size)))
        for words, size in zip(left + right, sizes, strict=True)
    ]
    return _Fitted(row, tuple(items[: len(left)]), tuple(items[len(left) :]))


def _shrunk_sizes(left, right, room_um, measure) -> list[float] | None:
    """Sizes [pt] at which the words fit, stepping all down together by quarter points."""
    words = left + right
    wanted = [size_for_capitals(w.cap_um) for w in words]
    floors = [size_for_capitals(w.floor_um) for w in words]
    steps = max((round((w - f) / _STEP_PT) for w, f in zip(wanted, floors, strict=True)), default=0)
    for step in range(steps + 1):
        sizes = [max(f, w - step * _STEP_PT) for w, f in zip(wanted, floors, strict=True)]
        if _needed_um(left, right, sizes, measure) <= room_um:
            return sizes
    return None


def _needed_um(left, right, sizes, measure) -> int:
    words = left + right
    widths = sum(
        math.ceil(measure(w.text, w.bold, size)) for w, size in zip(words, sizes, strict=True)
    )
    # One blank after each word but the last; the two sides are kept apart by one more.
    blanks = sum(_blank_um(size) for size in sizes[:-1])
    return widths + blanks + (_blank_um(max(sizes)) if left and right else 0)


def _weakest(words: list[Words]) -> Words | None:
    for keep in (Keep.CUT, Keep.DROP):
        for candidate in words:
            if candidate.keep is keep:
                return candidate
    return None


def _shorter(words: Words, left, right, room_um, measure) -> Words | None:
    """`words` cut so that the row fits at its smallest size; None when they must go."""
    if words.keep is Keep.DROP:
        return None
    for length in range(len(words.text) - 1, 0, -1):
        text = cut_text(words.text, length)
        if len(text) < _FEWEST_LETTERS + 1:
            return None
        cut = Words(text, words.floor_um, words.floor_um, words.bold, Keep.DROP)
        sides = [[cut if w is words else w for w in side] for side in (left, right)]
        sizes = [size_for_capitals(w.floor_um) for w in sides[0] + sides[1]]
        if _needed_um(*sides, sizes, measure) <= room_um:
            return cut
    return None


def cut_text(text: str, length: int) -> str:
    """At most `length` letters of `text` and an ellipsis; never ends in part of a number.

    A word with a figure in it that meets the cut goes whole, with any figures just before it:
    "1 1/4 in" must not become "1…".

    >>> cut_text("compression spiral 12.7 mm", 21), cut_text("compression spiral", 12)
    ('compression spiral…', 'compression…')
    """
    words = text[:length].split(" ")
    runs_on = length < len(text) and text[length] != " "
    if runs_on and any(c.isdigit() for c in words[-1] + text[length:].split(" ")[0]):
        words.pop()
    while words and (any(c.isdigit() for c in words[-1]) or not words[-1].strip(_LOOSE_ENDS)):
        words.pop()
    return " ".join(words).rstrip(_LOOSE_ENDS) + ELLIPSIS
