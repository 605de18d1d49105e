"""Does the holder belong in this spindle, and what pulls it in: interface and pull stud."""

from __future__ import annotations

from collections.abc import Sequence

from assemblies.rules.stack import HolderPart, MachineFacts, Stage, StudPart, StudState
from crib.rules.finding import Finding, Level
from crib.rules.standards import TaperRow, cones_look_alike, same_code, taper_coded

_STANDARDS = "ISO 7388, ISO 12164-1, DIN 69893; interfaces by code"
_PRACTICE = "common practice: machine maker's stud pattern"


def interface_finding(
    holder: HolderPart, machine: MachineFacts, tapers: Sequence[TaperRow]
) -> Finding:
    """Whether the holder's interface is exactly the machine's.

    Source: interfaces by code of ISO 7388, ISO 12164-1, DIN 69893, ASME B5.50.

    >>> holder, machine = HolderPart(interface="HSK-A63"), MachineFacts(interface="HSK-F63")
    >>> interface_finding(holder, machine, []).code
    'interface.differs'
    """
    if holder.interface is None or machine.interface is None:
        whose = "holder" if holder.interface is None else "machine"
        return Finding(
            "interface.not_known",
            Level.UNKNOWN,
            f"Interface of the {whose} not recorded.",
            remedy=f"Read the taper of the {whose} and record it.",
            source=_STANDARDS,
        )
    if same_code(holder.interface, machine.interface):
        return Finding(
            "interface.same",
            Level.PASS,
            f"{holder.interface} fits this machine.",
            source=_STANDARDS,
        )
    return Finding(
        "interface.differs",
        Level.STOP_HARD,
        f"{holder.interface} holder. This machine takes {machine.interface}.",
        remedy=_likeness(holder.interface, machine.interface, tapers)
        + "Fetch an assembly with the right interface.",
        source=_STANDARDS,
    )


def _likeness(holder_code: str, machine_code: str, tapers: Sequence[TaperRow]) -> str:
    mine, theirs = taper_coded(tapers, holder_code), taper_coded(tapers, machine_code)
    if mine is None or theirs is None or mine.family != theirs.family:
        return ""
    if cones_look_alike(mine, theirs):
        return "Same cone, not interchangeable. "
    if mine.flange_diameter_um and mine.flange_diameter_um == theirs.flange_diameter_um:
        return "Same flange, other cone. "
    return ""


def stud_findings(
    holder: HolderPart,
    stud: StudPart,
    machine: MachineFacts | None,
    tapers: Sequence[TaperRow],
    stage: Stage,
) -> list[Finding]:
    """Whether the holder has the pull stud it needs and the machine takes that pattern.

    Source: retention by interface of the standards above; patterns are not interchangeable,
    common practice.

    >>> stud_findings(HolderPart(), StudPart(), None, [], Stage.RELEASE)[0].code
    'stud.need_not_known'
    """
    row = taper_coded(tapers, holder.interface)
    if row is None:
        return [_need_not_known(holder.interface), *_missing_anyway(stud, machine, stage)]
    if not row.takes_a_stud:
        return [_not_asked(row, stud)]
    if machine is not None and machine.stud_pattern == StudState.NOT_USED:
        return [_machine_takes_none(stud)]
    if stud.state in (StudState.NONE_FITTED, StudState.NOT_USED):
        return [_none_fitted(row, stage)]
    if stud.state != StudState.FITTED or stud.pattern is None:
        return [_look_and_record(row, stud, stage)]
    if machine is None:
        text = f"Pull stud {_bare(stud.pattern)} fitted."
        return [Finding("stud.fitted", Level.PASS, text, source=_PRACTICE)]
    return [_pattern_finding(stud.pattern, machine)]


def _bare(pattern: str) -> str:
    return pattern.strip().removeprefix("stud ").removeprefix("Stud ")


def _need_not_known(interface: str | None) -> Finding:
    return Finding(
        "stud.need_not_known",
        Level.UNKNOWN,
        f"Not known whether {interface or 'this taper'} takes a pull stud.",
        remedy="Record the holder's interface by its code.",
        source=_STANDARDS,
    )


def _missing_anyway(stud: StudPart, machine: MachineFacts | None, stage: Stage) -> list[Finding]:
    """A holder reported without its stud is named even where the taper is not in the tables."""
    none_taken = machine is not None and machine.stud_pattern == StudState.NOT_USED
    if stud.state != StudState.NONE_FITTED or none_taken:
        return []
    return [_missing("No pull stud fitted.", stage)]


def _not_asked(row: TaperRow, stud: StudPart) -> Finding:
    if stud.state == StudState.FITTED:
        return Finding(
            "stud.not_for_taper",
            Level.CHECK,
            f"A pull stud is recorded, but {row.code} takes none.",
            remedy="Look at the holder: interface or stud is recorded wrongly.",
            source=_STANDARDS,
        )
    return Finding(
        "stud.not_asked", Level.PASS, f"{row.code} takes no pull stud.", source=_STANDARDS
    )


def _machine_takes_none(stud: StudPart) -> Finding:
    if stud.state in (StudState.NONE_FITTED, StudState.NOT_USED):
        text = "No pull stud fitted, and this machine takes none."
        return Finding("stud.not_asked", Level.PASS, text, source=_PRACTICE)
    fitted = stud.state == StudState.FITTED
    return Finding(
        "stud.differs" if fitted else "stud.not_known",
        Level.STOP_HARD if fitted else Level.STOP_SOFT,
        "Stud fitted. This machine takes none."
        if fitted
        else "Pull stud not recorded. This machine takes none.",
        remedy="Look at the holder and record the stud.",
        source=_PRACTICE,
    )


def _none_fitted(row: TaperRow, stage: Stage) -> Finding:
    return _missing(f"No pull stud fitted. {row.code} needs one.", stage)


def _missing(text: str, stage: Stage) -> Finding:
    level = Level.CHECK if stage == Stage.BUILD else Level.STOP_HARD
    return Finding(
        "stud.missing",
        level,
        text,
        remedy="Fit the machine's pull stud to its torque, then record it.",
        source=_PRACTICE,
    )


def _look_and_record(row: TaperRow, stud: StudPart, stage: Stage) -> Finding:
    what = "Pattern of the pull stud" if stud.state == StudState.FITTED else "Pull stud"
    return Finding(
        "stud.not_known",
        Level.UNKNOWN if stage == Stage.BUILD else Level.STOP_SOFT,
        f"{what} not recorded. {row.code} needs one.",
        remedy="Look at the holder and record the stud.",
        source=_PRACTICE,
    )


def _pattern_finding(pattern: str, machine: MachineFacts) -> Finding:
    if machine.stud_pattern is None:
        return Finding(
            "stud.machine_not_known",
            Level.UNKNOWN,
            "Pull stud pattern of this machine not recorded.",
            remedy="Read it in the machine's book and record it.",
            source=_PRACTICE,
        )
    fitted, needed = _bare(pattern), _bare(machine.stud_pattern)
    if same_code(fitted, needed):
        return Finding(
            "stud.same", Level.PASS, f"Pull stud {fitted} fits this machine.", source=_PRACTICE
        )
    return Finding(
        "stud.differs",
        Level.STOP_HARD,
        f"Stud {fitted} fitted. This machine needs stud {needed}.",
        remedy="Toolroom changes the stud. Patterns are not interchangeable.",
        source=_PRACTICE,
    )
