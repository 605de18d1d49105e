"""A second opinion on what goes together, for the tests only: it shares no code with the rules.

Written from the tables in crib/data and the standards named below, not from the rules; it knows
the dataclasses of a stack and nothing else. Each subject answers with the words that are right:
usually one; two or three where the trade leaves it open.
"""

from __future__ import annotations

import csv
from pathlib import Path

from assemblies.rules.stack import Stack

FITS, CARE, NO, UNKNOWN, NOT_ASKED = "fits", "care", "no", "unknown", "not asked"
DATA = Path(__file__).resolve().parents[2] / "crib" / "data"

#: ISO 286-1:2010, table 1: steps of nominal size [mm], IT7 [um]. h has upper deviation 0.
IT7 = [(3, 10), (6, 12), (10, 15), (18, 18), (30, 21), (50, 25), (80, 30)]


def rows(name: str) -> list[dict]:
    """Lines of one table of the trade, as text."""
    with (DATA / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


INTERFACES = {row["code"] for row in rows("spindle_tapers.csv")}

#: DIN 6535 names the forms; what each bore makes of them is makers' advice (common practice).
#: A side lock needs its flat. Flats weaken or unbalance a hydraulic or a shrunk grip, so they may
#: be looked at or refused, yet never waved through; in a collet, in jaws and in a milling chuck
#: that is a matter of taste.
FORMS = {
    "collet": {"HA": {FITS}, "HB": {FITS, CARE}, "HE": {FITS, CARE}, "square": {FITS, CARE}},
    "milling_chuck": {
        "HA": {FITS},
        "HB": {FITS, CARE},
        "HE": {FITS, CARE, NO},
        "square": {FITS, CARE, NO},
    },
    "drill_chuck": {
        "HA": {FITS},
        "HB": {FITS, CARE, NO},
        "HE": {FITS, CARE, NO},
        "square": {FITS, CARE, NO},
    },
    "hydraulic": {"HA": {FITS}, "HB": {CARE, NO}, "HE": {CARE, NO}, "square": {CARE, NO}},
    "shrink": {"HA": {FITS}, "HB": {CARE, NO}, "HE": {CARE, NO}, "square": {CARE, NO}},
    "side_lock": {"HA": {NO}, "HB": {FITS}, "HE": {CARE, NO, UNKNOWN}, "square": {NO}},
    # A tap is driven by its square: the subject `square` asks, whatever the form is called.
    "tap": {shape: {FITS, CARE, NO} for shape in ("HA", "HB", "HE", "square")},
}
#: A form nobody wrote down is unknown where the bore depends on it.
FORM_DECIDES = {"hydraulic", "shrink", "side_lock"}
SLEEVES_GO_IN = {"side_lock", "hydraulic", "milling_chuck"}
EXACT = {"side_lock", "hydraulic", "shrink", "milling_chuck"}


def shank_that_counts(stack: Stack) -> tuple[int | None, bool]:
    """Shank [um] that decides, and whether it is sure: nominal, unless measured outside h7."""
    nominal, measured = stack.cutter.shank_um, stack.cutter.shank_measured_um
    if nominal is None:
        return measured, False
    if measured is None:
        return nominal, True
    step = next(it for upper_mm, it in IT7 if nominal <= upper_mm * 1000)
    return (nominal, True) if nominal - step <= measured <= nominal else (measured, True)


def alike(*values) -> set:
    """Whether all are the same; one that is not recorded makes it unknown."""
    known = [value for value in values if value is not None]
    if len(set(known)) > 1:
        return {NO}
    return {FITS} if len(known) == len(values) else {UNKNOWN}


def interface(stack: Stack) -> set:
    """ISO 7388, ISO 12164, DIN 69893, ASME B5.50: each code is an interface of its own."""
    if stack.machine is None:
        return {NOT_ASKED}
    here, there = stack.holder.interface, stack.machine.interface
    if here is not None and here == there and here not in INTERFACES:
        return {FITS, UNKNOWN}
    return alike(here, there)


def series(stack: Stack) -> set:
    """Collet of the series of the nose."""
    if stack.holder.clamping is None:
        return {UNKNOWN}
    if stack.holder.clamping != "collet":
        return {NOT_ASKED} if stack.collet is None else {NO, CARE}
    if stack.collet is None:
        return {NO, UNKNOWN}
    return alike(stack.holder.series, stack.collet.series)


def nut_thread(stack: Stack) -> set:
    """Nut of the series and of the thread of the nose: M25x1.5 and M24x1 are two nuts of ER20."""
    if stack.holder.clamping is None:
        return {UNKNOWN}
    if stack.holder.clamping != "collet":
        return {NOT_ASKED} if stack.nut is None else {NO, CARE}
    if stack.nut is None:
        return {NO, UNKNOWN}
    both = (
        alike(stack.holder.series, stack.nut.series),
        alike(stack.holder.nose_thread, stack.nut.thread),
    )
    return worst(both)


def worst(answers) -> set:
    """The heaviest of several answers: a stop beats what is not known, that a look, that a pass."""
    for word in (NO, UNKNOWN, CARE):
        if any(answer == {word} for answer in answers):
            return {word}
    return {FITS}


def seat(stack: Stack) -> set:
    """Shank in collet, bore, jaws or sleeve; a shell cutter on the spigot."""
    way = stack.holder.clamping
    if way is None:
        return loose_parts(stack)
    if wrongly_mounted(stack):
        return {NO}
    if way == "arbor":
        return alike(stack.holder.bore_um, stack.cutter.bore_um)
    shank, sure = shank_that_counts(stack)
    if way == "collet":
        return in_collet(stack, shank, sure)
    if way == "drill_chuck":
        return in_span(stack.holder.bore_min_um, stack.holder.bore_um, shank, sure)
    bore = stack.holder.bore_um
    if stack.sleeve is not None and way in SLEEVES_GO_IN:
        bore = stack.sleeve.bore_um
    return in_span(bore, bore, shank, sure)


def loose_parts(stack: Stack) -> set:
    """Parts come in any order: a shank that the collet or sleeve cannot take is refused at once."""
    shank, sure = shank_that_counts(stack)
    answers = [in_collet(stack, shank, sure)] if stack.collet else []
    if stack.sleeve is not None:
        answers.append(in_span(stack.sleeve.bore_um, stack.sleeve.bore_um, shank, sure))
    return {NO} if {NO} in answers else {NO, UNKNOWN} if {NO, UNKNOWN} in answers else {UNKNOWN}


def wrongly_mounted(stack: Stack) -> bool:
    """A shank on an arbor, or a bore in a chuck: nothing else about the two is worth asking."""
    has_bore = stack.cutter.bore_um is not None
    has_shank = stack.cutter.shank_um is not None or stack.cutter.shank_measured_um is not None
    if stack.holder.clamping == "arbor":
        return has_shank and not has_bore
    return stack.holder.clamping is not None and has_bore and not has_shank


def in_collet(stack: Stack, shank: int | None, sure: bool) -> set:
    """Inside the range, ends included; more than half a millimetre closed wants a look."""
    if stack.collet is None:
        return {NO, UNKNOWN}
    answer = in_span(stack.collet.clamp_min_um, stack.collet.clamp_max_um, shank, sure)
    if answer == {FITS} and stack.collet.clamp_max_um - shank > 500:
        return {CARE}
    return answer


def in_span(low: int | None, high: int | None, shank: int | None, sure: bool) -> set:
    """Between the two ends, ends included; one end is enough to refuse, not to pass."""
    if shank is None:
        return {UNKNOWN}
    if (low is not None and shank < low) or (high is not None and shank > high):
        return {NO} if sure else {NO, UNKNOWN}
    if low is None or high is None:
        return {UNKNOWN}
    return {FITS} if sure else {FITS, UNKNOWN, CARE}


def form(stack: Stack) -> set:
    """Whether this way of clamping takes this form of shank."""
    way, shape = stack.holder.clamping, stack.cutter.shank_form
    if way is None:
        return {UNKNOWN, NOT_ASKED}
    if way == "arbor":
        return {NOT_ASKED, FITS} if shape is None else {NO, CARE, UNKNOWN, NOT_ASKED}
    if shape is None:
        return {UNKNOWN} if way in FORM_DECIDES else {FITS, UNKNOWN, NOT_ASKED}
    words = FORMS[way][shape]
    return words if way in FORM_DECIDES else words | {NOT_ASKED}


def sleeve(stack: Stack) -> set:
    """A reduction sleeve only where one goes in, made for that chuck, outside = bore."""
    if stack.sleeve is None:
        return {NOT_ASKED} if stack.holder.clamping else {NOT_ASKED, UNKNOWN}
    if stack.holder.clamping is None:
        return {UNKNOWN}
    if stack.holder.clamping not in SLEEVES_GO_IN:
        return {NO}
    return worst(
        [
            alike(stack.holder.clamping, stack.sleeve.suits),
            alike(stack.holder.bore_um, stack.sleeve.outer_um),
        ]
    )


def square(stack: Stack) -> set:
    """DIN 10, ISO 237: the square of the tap in the square that drives, 6.3 is not 6.2."""
    if stack.holder.clamping == "tap":
        return alike(stack.holder.square_um, stack.cutter.square_um)
    if stack.holder.clamping == "collet" and stack.collet and stack.collet.square_um is not None:
        answer = alike(stack.collet.square_um, stack.cutter.square_um)
        return answer if stack.cutter.kind == "tap" else answer | {CARE, NO, UNKNOWN}
    if stack.holder.clamping is None:
        return {UNKNOWN, NOT_ASKED}
    return {NOT_ASKED} if stack.cutter.kind != "tap" else {NOT_ASKED, CARE, NO, UNKNOWN}


def kind(stack: Stack) -> set:
    """Jaws bear no side load and no reversing; a tap holder drives taps (common practice)."""
    asked = {"drill_chuck": {"drill", "countersink", "reamer", "boring_bit"}, "tap": {"tap"}}
    suits = asked.get(stack.holder.clamping)
    if suits is None:
        return {NOT_ASKED}
    if stack.cutter.kind is None:
        return {UNKNOWN}
    return {FITS} if stack.cutter.kind in suits else {NO}


def keys(stack: Stack) -> set:
    """DIN 138, ISO 240: driving keys of the arbor go into the slots of the cutter."""
    if stack.holder.clamping != "arbor":
        return {NOT_ASKED}
    key, slot = stack.holder.key_um, stack.cutter.keyway_um
    if key is None or slot is None:
        return {UNKNOWN}
    if key > slot:
        return {NO}
    return {FITS} if slot - key <= 500 else {CARE, NO}  # play of 0.4 to 0.5 mm is made


SUBJECTS = {
    "interface": interface,
    "series": series,
    "nut": nut_thread,
    "seat": seat,
    "form": form,
    "sleeve": sleeve,
    "square": square,
    "keys": keys,
    "kind": kind,
}
#: Asked of the cutter in its seat, so not where it is wrongly mounted.
OF_THE_SEAT = {"form", "sleeve", "square", "keys", "kind"}


def answers(stack: Stack) -> dict[str, set]:
    """Subject -> the words that are right for this stack."""
    skipped = OF_THE_SEAT if wrongly_mounted(stack) else set()
    return {name: {NOT_ASKED} if name in skipped else ask(stack) for name, ask in SUBJECTS.items()}
