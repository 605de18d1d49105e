"""What a draft is to be tightened to, and with which wrench. Reads only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from assemblies.models import Build
from assemblies.rules.stack import Stack
from assemblies.rules.torque_aim import NUT, TorqueAim, aim_lines, torque_aim
from assemblies.rules.wrench import adapter_setting_mnm
from crib.actions.instrument_facts import line_of, with_history
from crib.models import Instrument, InstrumentKind
from crib.reference import tables
from crib.rules.calibration import Standing
from crib.rules.keys import key_of
from crib.rules.refusal import Refused
from crib.rules.units import show_mm, show_nm


@dataclass(frozen=True)
class Torque:
    """The aim, what to dial in for it [mN·m] with the wrench and adapter of the draft, in words."""

    aim: TorqueAim
    lines: tuple[str, ...]
    setting_mnm: int | None = None


def torque_of(build: Build, stack: Stack) -> Torque:
    """What to tighten the stack of a draft to, and what to dial in for it."""
    aim = torque_aim(stack, tables().torque_bands)
    wrench = build.wrench
    setting_mnm = None
    if wrench is not None:
        setting_mnm = adapter_setting_mnm(aim.aim_mnm, wrench.reach_um, build.adapter_um)
    if _waits_for_parts(stack, aim):
        return Torque(aim, ())
    return Torque(aim, (*aim_lines(aim), *_dial_lines(build, aim, setting_mnm)), setting_mnm)


def _waits_for_parts(stack: Stack, aim: TorqueAim) -> bool:
    """Whether the torque of a nut cannot be named yet: the nut is not in, or not the shank."""
    some_missing = stack.nut is None or stack.cutter is None
    return aim.tightens == NUT and aim.aim_mnm is None and some_missing


def _dial_lines(build: Build, aim: TorqueAim, setting_mnm: int | None) -> tuple[str, ...]:
    """What to dial in on the wrench, where an adapter makes that another figure."""
    if not build.adapter_um or aim.aim_mnm is None:
        return ()
    adapter = f"adapter of {show_mm(build.adapter_um, 1)} mm"
    if build.wrench is None:
        return (f"With the {adapter}: name the wrench, so that its setting can be computed.",)
    if setting_mnm is None:
        return (f"Setting with the {adapter} not known: the reach of {build.wrench} is missing.",)
    return (f"Dial in {show_nm(setting_mnm)} N·m on {build.wrench} with the {adapter}.",)


@dataclass(frozen=True)
class Wrench:
    """A torque wrench as it is offered at the bench; `span` is "" where its range is unknown."""

    mark: str
    span: str
    #: Its range does not hold what would have to be dialled in.
    is_out_of_range: bool = False
    #: What speaks against taking it, by its calibration; "" when nothing does.
    doubt: str = ""


def wrenches(build: Build, aim: TorqueAim) -> list[Wrench]:
    """The torque wrenches in use, by mark, held against what the draft is to be tightened to."""
    rows = Instrument.objects.filter(kind=InstrumentKind.WRENCH, is_retired=False)
    today = timezone.localdate()
    return [
        Wrench(row.mark, _span(row), _misses(row, build, aim), _doubt(row, today))
        for row in with_history(rows)
    ]


#: How a wrench stands -> what its button says.
_DOUBTS = {
    Standing.OUT: "out of use: failed or dropped",
    Standing.OVERDUE: "calibration overdue",
    Standing.NOT_KNOWN: "calibration not known",
}


def _doubt(row: Instrument, today: date) -> str:
    return _DOUBTS.get(line_of(row, today).state.standing, "")


def _span(row: Instrument) -> str:
    if row.torque_min_mnm is None or row.torque_max_mnm is None:
        return ""
    return f"{show_nm(row.torque_min_mnm)}–{show_nm(row.torque_max_mnm)} N·m"


def _misses(row: Instrument, build: Build, aim: TorqueAim) -> bool:
    setting_mnm = adapter_setting_mnm(aim.aim_mnm, row.reach_um, build.adapter_um)
    if setting_mnm is None:
        return False
    below = row.torque_min_mnm is not None and setting_mnm < row.torque_min_mnm
    return below or (row.torque_max_mnm is not None and setting_mnm > row.torque_max_mnm)


def wrench_marked(mark: str) -> Instrument | None:
    """The wrench with a mark; None where no instrument carries it.

    Refuses an instrument that is no wrench, or one out of use.
    """
    found = Instrument.objects.filter(mark_key=key_of(mark)).first() if mark.strip() else None
    if found is None:
        return None
    if found.kind != InstrumentKind.WRENCH:
        raise Refused(
            "build.not_a_wrench",
            f"{found.mark} is a {found.get_kind_display().lower()}.",
            "Scan or pick a torque wrench.",
            field="wrench_mark",
        )
    if found.is_retired:
        raise Refused(
            "build.wrench_retired",
            f"Wrench {found.mark} is out of use.",
            "Take another wrench.",
            field="wrench_mark",
        )
    return found
