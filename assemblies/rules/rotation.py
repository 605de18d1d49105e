"""Does the cutter turn the way the program and the machine turn."""

from __future__ import annotations

from assemblies.rules.stack import CutterPart, MachineFacts, ProgramCall
from crib.rules.finding import Finding, Level

_ISO_3002 = "ISO 3002-1 hand of a cutter; M3 clockwise, M4 counter-clockwise (ISO 6983-1)"

#: Hand of the cutter -> spindle rotation it needs.
_NEEDS = {"right": "cw", "left": "ccw"}
_WORDS = {"cw": "right (M3)", "ccw": "left (M4)"}


def rotation_findings(
    cutter: CutterPart, call: ProgramCall | None, machine: MachineFacts | None
) -> list[Finding]:
    """Whether a cutter's hand suits the program's rotation and the machine's.

    Hands are `right` and `left`; any other is not known. Rotations are `cw` and `ccw`.

    Source: ISO 3002-1 and ISO 6983-1, from memory.

    >>> rotation_findings(CutterPart(hand="left"), ProgramCall(rotation="cw"), None)[0].code
    'rotation.program_differs'
    """
    if cutter.hand not in _NEEDS:
        remedy = "Look at the cutter and record its hand."
        return [_unknown("rotation.hand_not_known", "Hand of the cutter not recorded.", remedy)]
    findings = []
    if call is not None:
        findings.append(_against_program(cutter.hand, call))
    if machine is not None:
        findings.append(_against_machine(cutter.hand, machine))
    return findings


def _unknown(code: str, text: str, remedy: str) -> Finding:
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=_ISO_3002)


def _against_program(hand: str, call: ProgramCall) -> Finding:
    if call.rotation not in _WORDS:
        remedy = "Look in the program for M3 or M4."
        return _unknown("rotation.program_not_known", "Program names no rotation.", remedy)
    turns = _WORDS[call.rotation]
    if _NEEDS[hand] == call.rotation:
        text = f"{hand.capitalize()}-hand cutter. Program turns {turns}."
        return Finding("rotation.program_same", Level.PASS, text, source=_ISO_3002)
    return Finding(
        "rotation.program_differs",
        Level.STOP_HARD,
        f"{hand.capitalize()}-hand cutter. Program turns {turns}.",
        remedy="Fetch the cutter of the other hand.",
        source=_ISO_3002,
    )


def _against_machine(hand: str, machine: MachineFacts) -> Finding:
    if machine.rotations is None:
        remedy = "Record which ways the spindle may turn."
        return _unknown("rotation.machine_not_known", "Machine's rotation not recorded.", remedy)
    if _NEEDS[hand] in machine.rotations:
        text = f"{hand.capitalize()}-hand cutter suits this spindle."
        return Finding("rotation.machine_same", Level.PASS, text, source=_ISO_3002)
    return Finding(
        "rotation.machine_differs",
        Level.STOP_HARD,
        f"{hand.capitalize()}-hand cutter. This spindle does not turn {_WORDS[_NEEDS[hand]]}.",
        remedy="Fetch the cutter of the other hand.",
        source=_ISO_3002,
    )
