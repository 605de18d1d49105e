"""Order of assembly at the bench, by the way of clamping, with the numbers of the very stack."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from assemblies.rules.cautions import BUILD_STEPS
from assemblies.rules.fit import stack_findings
from assemblies.rules.stack import BuildFigures, HolderPart, ShopLimits, Stack, Stage
from assemblies.rules.torque_aim import NOTHING, TorqueAim
from assemblies.rules.wording import at_least, shown_range
from crib.rules.standards import ReferenceTables
from crib.rules.units import show_mm, show_nm


@dataclass(frozen=True, slots=True)
class BuildStep:
    """One step. `gap` names the number that is not known where the step needs one."""

    key: str
    text: str
    gap: str = ""


@dataclass(frozen=True, slots=True)
class StepNumbers:
    """Numbers the steps name: least grip [um], the torque, and what to dial in [mN·m]."""

    least_grip_um: int | None = None
    aim: TorqueAim = field(default_factory=TorqueAim)
    wrench: str = ""
    setting_mnm: int | None = None


def least_grip_um(stack: Stack, limits: ShopLimits, tables: ReferenceTables) -> int | None:
    """Least grip [um] that the grip rules ask for this stack; None where they do not know it.

    The front door is asked with next to no grip, so that steps and findings cannot disagree.

    Source: the grip rules; each finding names its own.

    >>> least_grip_um(Stack(), ShopLimits(), ReferenceTables()) is None
    True
    """
    probe = replace(stack, figures=BuildFigures(grip_um=1), machine=None, call=None)
    wanted_mm = [
        finding.limit
        for finding in stack_findings(probe, limits, Stage.BUILD, tables)
        if finding.code.startswith("grip.")
        and finding.level.is_stop
        and finding.limit is not None
        and finding.measured is not None
        and finding.measured < finding.limit
    ]
    return round(max(wanted_mm) * 1000) if wanted_mm else None


def build_steps(stack: Stack, numbers: StepNumbers) -> tuple[BuildStep, ...]:
    """The steps from clean parts to the label, in the order of doing them.

    A holder that is not there yet, or whose way of clamping is not recorded, gets the general
    steps. A number that is not known is said to be missing, never guessed.

    Source: common practice, in our words; makers' instructions come first.

    >>> shrink = Stack(holder=HolderPart(clamping="shrink"))
    >>> [step.key for step in build_steps(shrink, StepNumbers())]
    ['clean', 'heat', 'insert', 'cool', 'measure', 'label']
    """
    holder = stack.holder or HolderPart()
    walk = _WALKS.get(holder.clamping or "")
    if walk is None:
        return tuple(BuildStep(f"general_{n}", text) for n, text in enumerate(BUILD_STEPS, 1))
    return (_clean(stack), *_inserts(stack), *walk(stack, numbers), *_END)


_TO_CLEAN = {
    "collet": "taper, nose, collet, nut and shank",
    "arbor": "taper, spigot, face, keys and the cutter's bore",
    "drill_chuck": "taper, jaws and shank",
    "tap": "taper, bore, square and shank",
}
_END = (
    BuildStep(
        "measure",
        "Measure stick-out, gauge length, cutting diameter and runout, and record them.",
    ),
    BuildStep(
        "label", "Compare the mark engraved on the holder with the screen, then print the label."
    ),
)


def _clean(stack: Stack) -> BuildStep:
    seat = "taper, bore, sleeve and shank" if stack.sleeve else "taper, bore and shank"
    what = _TO_CLEAN.get(stack.holder.clamping, seat)
    return BuildStep("clean", f"Clean {what}, and look at each of them.")


def _inserts(stack: Stack) -> list[BuildStep]:
    seats = stack.cutter.insert_seats if stack.cutter else None
    if not seats:
        return []
    inserts = "the insert" if seats == 1 else f"all {seats} inserts"
    text = f"Seat {inserts} in clean seats and tighten each screw with its own driver."
    return [BuildStep("inserts", text)]


def _grip(numbers: StepNumbers) -> tuple[str, str]:
    """`at least 26.7 mm`, and what is missing."""
    if numbers.least_grip_um is None:
        return "as deep as the maker's book says", "least grip not known"
    return f"at least {at_least(numbers.least_grip_um)} mm", ""


def _stickout(stack: Stack) -> str:
    set_um = stack.figures.stickout_um
    return "" if set_um is None else f" Stick-out {show_mm(set_um, 1)} mm."


def _depth(stack: Stack) -> str:
    depth_um = stack.holder.bore_depth_um
    return "" if depth_um is None else f", at most {show_mm(depth_um, 1)} mm"


def _pull(numbers: StepNumbers, what: str, else_text: str) -> BuildStep:
    """The step at the wrench: the torque, and what to dial in where an adapter changes it."""
    if numbers.aim.aim_mnm is None:
        return BuildStep("torque", f"{else_text} Record the torque.", "torque not known")
    with_what = f"wrench {numbers.wrench}" if numbers.wrench else "the torque wrench"
    dial = ""
    if numbers.setting_mnm is not None and numbers.setting_mnm != numbers.aim.aim_mnm:
        dial = f" With the adapter dial in {show_nm(numbers.setting_mnm)} N·m."
    text = f"{what} with {with_what} to {show_nm(numbers.aim.aim_mnm)} N·m.{dial}"
    return BuildStep("torque", text)


def _collet(stack: Stack, numbers: StepNumbers) -> list[BuildStep]:
    collet, (grip, gap) = stack.collet, _grip(numbers)
    named = f" {shown_range(collet.clamp_max_um, collet.clamp_min_um)}" if collet else ""
    steps = [
        BuildStep(
            "snap",
            f"Snap collet{named} into the nut first; it must sit straight and turn freely.",
        ),
        BuildStep("start", "Start the nut on the nose by hand, two turns."),
        BuildStep(
            "insert",
            f"Slide the shank in, {grip}, then draw it back a little: it must not bottom."
            f"{_stickout(stack)}",
            gap,
        ),
        BuildStep("by_hand", "Screw the nut on by hand until it holds the cutter."),
        _pull(
            numbers,
            "Holder in its fixture: tighten the nut",
            "Holder in its fixture: tighten with the torque wrench to the mark on the nut.",
        ),
    ]
    return [*_disk(stack), *steps]


def _disk(stack: Stack) -> list[BuildStep]:
    if stack.nut is None or not stack.nut.sealed:
        return []
    span = ""
    if stack.nut.seal_max_um is not None and stack.nut.seal_min_um is not None:
        span = f", {shown_range(stack.nut.seal_max_um, stack.nut.seal_min_um)}"
    text = f"Put the sealing disk for this shank into the nut{span}."
    return [BuildStep("seal", text)]


def _sleeve(stack: Stack, how: str) -> list[BuildStep]:
    return [BuildStep("sleeve", how)] if stack.sleeve else []


def _side_lock(stack: Stack, numbers: StepNumbers) -> list[BuildStep]:
    grip, gap = _grip(numbers)
    return [
        BuildStep("open", "Turn the clamping screw back until the bore is free."),
        *_sleeve(stack, "Slide the sleeve in, its window under the screw."),
        BuildStep(
            "insert",
            f"Slide the shank in, {grip}{_depth(stack)}, the flat facing the screw.",
            gap,
        ),
        BuildStep(
            "seat", f"Screw on to the flat, draw the cutter out against it.{_stickout(stack)}"
        ),
        _pull(
            numbers, "Tighten the clamping screw", "Tighten the clamping screw by the maker's book."
        ),
    ]


def _shrink(stack: Stack, numbers: StepNumbers) -> list[BuildStep]:
    grip, gap = _grip(numbers)
    return [
        BuildStep(
            "heat",
            "Heat the nose as the maker's book says, no longer. Heat-proof gloves: a hot nose"
            " looks cold.",
        ),
        BuildStep(
            "insert",
            f"Set the shank in without force, {grip}{_depth(stack)}, and hold it until it grips."
            f"{_stickout(stack)}",
            gap,
        ),
        BuildStep("cool", "Let it cool right through before anybody touches or measures it."),
    ]


def _hydraulic(stack: Stack, numbers: StepNumbers) -> list[BuildStep]:
    grip, gap = _grip(numbers)
    return [
        BuildStep("open", "Turn the actuating screw back. Never tighten the chuck empty."),
        *_sleeve(stack, "Slide the sleeve in up to its collar."),
        BuildStep("insert", f"Slide the shank in, {grip}{_depth(stack)}.{_stickout(stack)}", gap),
        _to_the_stop(numbers),
    ]


def _to_the_stop(numbers: StepNumbers) -> BuildStep:
    """The actuating screw goes to its stop; a torque is named only where one is marked."""
    if numbers.aim.tightens == NOTHING or numbers.aim.aim_mnm is None:
        return BuildStep("torque", "Turn the actuating screw in until it stops; no further.")
    return _pull(numbers, "Turn the actuating screw to its stop", "")


def _milling_chuck(stack: Stack, numbers: StepNumbers) -> list[BuildStep]:
    grip, gap = _grip(numbers)
    return [
        BuildStep("open", "Open the ring fully. Never close the chuck empty."),
        *_sleeve(stack, "Slide the sleeve in up to its collar."),
        BuildStep("insert", f"Slide the shank in, {grip}{_depth(stack)}.{_stickout(stack)}", gap),
        BuildStep("close", "Close the ring with its own wrench, as far as the maker's book says."),
    ]


def _arbor(stack: Stack, numbers: StepNumbers) -> list[BuildStep]:
    return [
        BuildStep("keys", f"Look at the keys: both there, tight{_key_width(stack)}."),
        BuildStep(
            "seat", "Set the cutter on the spigot, slots on the keys, face to face all round."
        ),
        BuildStep("by_hand", "Turn the clamping screw in by hand; the cutter must not tilt."),
        _pull(
            numbers,
            "Holder in its fixture: tighten the clamping screw",
            "Holder in its fixture: tighten the clamping screw by the maker's book.",
        ),
    ]


def _key_width(stack: Stack) -> str:
    width_um = stack.holder.key_um
    return "" if width_um is None else f", {show_mm(width_um, 1)} mm wide as the slots"


def _drill_chuck(stack: Stack, numbers: StepNumbers) -> list[BuildStep]:
    return [
        BuildStep(
            "insert",
            f"Jaws on the plain shank, never on the flutes; straight before they close."
            f"{_stickout(stack)}",
        ),
        BuildStep("close", "Tighten with its own key, in each hole where it has several."),
        BuildStep("key_out", "Take the key out of the chuck."),
    ]


def _tap(stack: Stack, numbers: StepNumbers) -> list[BuildStep]:
    square_um = stack.holder.square_um
    square = "" if square_um is None else f", {show_mm(square_um, 2)} mm"
    return [
        BuildStep("insert", f"Slide the tap in until its square{square} sits in the driver."),
        BuildStep("secure", f"Secure it as the holder asks, then pull by hand.{_stickout(stack)}"),
        BuildStep("float", "Length compensation: it must move in and out and come back by itself."),
    ]


_WALKS: dict[str, Callable[[Stack, StepNumbers], list[BuildStep]]] = {
    "collet": _collet,
    "side_lock": _side_lock,
    "shrink": _shrink,
    "hydraulic": _hydraulic,
    "milling_chuck": _milling_chuck,
    "arbor": _arbor,
    "drill_chuck": _drill_chuck,
    "tap": _tap,
}
