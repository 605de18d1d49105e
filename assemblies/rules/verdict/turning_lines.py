"""Does the cutter cut the way the spindle turns?

Source: hand by ISO 3002-1; M3 clockwise, M4 counter-clockwise by ISO 6983-1, both from memory.
"""

from __future__ import annotations

from assemblies.rules.verdict.facts import TURN_OF_HAND, CheckFacts, Hand, MachineFacts, Turn
from assemblies.rules.verdict.wording import agrees, unknown
from crib.rules.finding import Finding, Level

_TURN_WORDS = {Turn.CW: "right", Turn.CCW: "left"}


def turning_findings(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    """The hand against requirement, program and machine, each contradiction on its own."""
    hand = facts.assembly.hand
    if hand is None:
        text = "Which way this cutter cuts is not on record."
        return [unknown("program.hand_not_known", text, "Look at the cutter and enter it.")]
    return [
        *_wanted_hand(facts, tool_number, hand),
        *_program_turns(facts, tool_number, hand),
        *_machine_turns(facts.machine, hand),
    ]


def _wanted_hand(facts: CheckFacts, tool_number: int | None, hand: Hand) -> list[Finding]:
    wanted = facts.requirements.get(tool_number) if facts.program is not None else None
    if wanted is None or wanted.hand is None or wanted.hand is hand:
        return []
    text = f"{hand.capitalize()}-hand cutter. Program wants {wanted.hand}-hand."
    return [_stop("program.wanted_hand_differs", text)]


def _program_turns(facts: CheckFacts, tool_number: int | None, hand: Hand) -> list[Finding]:
    call = facts.calls.get(tool_number)
    if call is None or not call.turns:
        text = "Which way the program turns the spindle is not known."
        return [unknown("program.turn_not_known", text)]
    right_turn = TURN_OF_HAND[hand]
    wrong = call.turns - {right_turn}
    if wrong:
        turns = _TURN_WORDS[min(wrong)]
        text = f"{hand.capitalize()}-hand cutter. Program turns {turns}."
        return [_stop("program.hand_differs", text)]
    if not call.turns_exact:
        text = "The program may turn the spindle another way as well."
        return [unknown("program.turn_not_exact", text)]
    return [agrees("program.hand_agrees", f"{hand.capitalize()}-hand cutter as the program.")]


def _machine_turns(machine: MachineFacts | None, hand: Hand) -> list[Finding]:
    if machine is None:
        return []
    if machine.turns is None:
        text = "Which way this machine may turn is not on record."
        return [unknown("machine.turn_not_known", text, "Enter it with the machine.")]
    if TURN_OF_HAND[hand] in machine.turns:
        return []
    text = f"{hand.capitalize()}-hand cutter. This machine does not turn that way."
    return [_stop("machine.turn_not_allowed", text)]


def _stop(code: str, text: str) -> Finding:
    return Finding(code, Level.STOP_HARD, text, remedy="Fetch a cutter of the other hand.")
