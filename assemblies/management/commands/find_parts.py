"""`manage.py find_parts --cutter CODE|MARK --machine MARK`: what can be built from the racks.

Ends with 0 when a stack was found that nothing is said against, with 1 when there are only
stacks with a check or an unknown point, with 2 when nothing fits, with 3 for input that is no good.
"""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from collections.abc import Iterable

from django.core.management.base import BaseCommand, CommandError

from assemblies.actions.part_finder import Question, find, named_cutter
from assemblies.models import Machine
from assemblies.rules.finder.facts import Found, FoundStack, Same, Unlock
from crib.rules.finding import Finding
from crib.rules.keys import key_of
from crib.rules.refusal import Refused
from crib.rules.units import NotALength, read_length_um, show_mm

DOUBTFUL, NOTHING, BAD_INPUT = 1, 2, 3
#: Stacks printed as text; the JSON has all of them.
PRINTED = 10
_ENDS = (
    "Ends with 0: a stack that nothing is said against; 1: only stacks with a check or an unknown "
    "point; 2: nothing fits, or the cutter does not lie in the racks; 3: input that is no good. "
    "Lengths in the JSON are whole micrometres, their names end with _um. Writes nothing."
)


class Command(BaseCommand):
    help = "List the stacks that can be built for a cutter from what lies in the racks."
    requires_system_checks = []

    def create_parser(self, prog_name, subcommand, **kwargs):
        parser = super().create_parser(prog_name, subcommand, epilog=_ENDS, **kwargs)
        parser.error = lambda message: self._refuse(parser, message)
        return parser

    def _refuse(self, parser: ArgumentParser, message: str) -> None:
        """Bad arguments end as other bad input does, not as "nothing fits"."""
        if getattr(self, "_called_from_command_line", False):
            parser.print_usage(sys.stderr)
            parser.exit(BAD_INPUT, f"{parser.prog}: {message}\n")
        raise CommandError(message, returncode=BAD_INPUT)

    def add_arguments(self, parser):
        parser.add_argument("--cutter", required=True, metavar="CODE|MARK")
        parser.add_argument("--machine", required=True, metavar="MARK")
        parser.add_argument("--stickout", metavar="MM", help="45, 45.5 or 1 3/4 in")
        parser.add_argument("--speed", metavar="RPM", help="whole number, 1/min")
        parser.add_argument("--json", action="store_true", help="all of it, for scripts")

    def handle(self, *args, cutter: str, machine: str, **options):
        try:
            item, piece = named_cutter(cutter)
            question = Question(
                cutter=item,
                piece=piece,
                machine=_machine(machine),
                stickout_um=_stickout_um(options.get("stickout")),
                speed_rpm=_speed_rpm(options.get("speed")),
            )
        except (Refused, NotALength) as error:
            raise CommandError(_sentence(error), returncode=BAD_INPUT) from error
        found = find(question)
        if options["json"]:
            self.stdout.write(json.dumps(as_json(found, question), indent=2, ensure_ascii=False))
        else:
            self.stdout.write("\n".join(_lines(found)))
        if code := exit_code(found):
            sys.exit(code)


def _sentence(error: Exception) -> str:
    return error.sentence if isinstance(error, Refused) else str(error)


def _machine(mark: str) -> Machine:
    machine = Machine.objects.filter(mark_key=key_of(mark)).first()
    if machine is None:
        raise CommandError(f"No machine is marked {mark}.", returncode=BAD_INPUT)
    return machine


def _stickout_um(text: str | None) -> int | None:
    stickout_um = None if text is None else read_length_um(text)
    if stickout_um == 0:
        raise NotALength("A stick-out of zero holds no cutter.")
    return stickout_um


def _speed_rpm(text: str | None) -> int | None:
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and 0 < len(text) < 7 and int(text)):
        raise CommandError(f"“{text[:20]}” is no speed in 1/min.", returncode=BAD_INPUT)
    return int(text)


def exit_code(found: Found) -> int:
    """What the command ends with."""
    if not found.stacks:
        return NOTHING
    return 0 if any(not stack.doubts for stack in found.stacks) else DOUBTFUL


# ---- JSON
def as_json(found: Found, question: Question) -> dict:
    """The answer for scripts; its names do not change."""
    return {
        "cutter": question.piece.mark if question.piece else question.cutter.code,
        "machine": question.machine.mark,
        "cutter_on_shelf": found.cutter_on_shelf,
        "stopped_by": [finding.as_dict() for finding in found.against],
        "stacks": [_stack_json(stack) for stack in found.stacks],
        "dropped": [
            {"kind": group.kind, "count": group.count, "reason": group.reason, "parts": group.shown}
            for group in found.dropped
        ],
        "would_help": [_unlock_json(unlock) for unlock in found.unlocks],
        "elsewhere": [
            {"kind": a.kind, "part": a.shown, "where": a.where, "goes_with": a.goes_with}
            for a in found.away
        ],
    }


def _stack_json(stack: FoundStack) -> dict:
    figures = stack.stack.figures
    return {
        "level": str(stack.level),
        "parts": [_part_json(part) for part in stack.parts],
        "stickout_um": figures.stickout_um,
        "grip_um": figures.grip_um,
        "gauge_length_um": stack.gauge_um,
        "runout": [
            {"part": mark, "median_um": median_um, "readings": count}
            for mark, median_um, count in stack.histories
        ],
        "findings": [finding.as_dict() for finding in stack.findings],
    }


def _part_json(part: Same) -> dict:
    return {
        "kind": part.kind,
        "item": part.code,
        "take": part.shown,
        "place": part.first.place if part.first else "",
        "marks": part.marks,
        "loose": part.loose,
    }


def _unlock_json(unlock: Unlock) -> dict:
    return {
        "get": unlock.to_get,
        "holders": unlock.holders,
        "level": str(unlock.stack.level),
        "doubts": [finding.code for finding in unlock.stack.doubts],
    }


# ---- text
def _lines(found: Found) -> Iterable[str]:
    if not found.cutter_on_shelf:
        yield "The cutter does not lie in the racks fit for use."
    yield from (f"! {finding.text}" for finding in found.against)
    for number, stack in enumerate(found.stacks[:PRINTED], 1):
        yield from _stack_lines(number, stack)
    if len(found.stacks) > PRINTED:
        yield f"and {len(found.stacks) - PRINTED} more"
    if not found.stacks:
        yield "No stack can be built."
    yield from (f"- {group.text} ({_few(group.shown)})" for group in found.dropped)
    yield from (f"+ get {' and '.join(u.to_get)}{_then(u)}" for u in found.unlocks)
    yield from (f"@ {away.shown} {away.where}" for away in found.away)


def _then(unlock: Unlock) -> str:
    return f"; then {_few(unlock.holders)}" if unlock.holders else ""


def _few(shown: tuple[str, ...]) -> str:
    return ", ".join(shown[:6]) + (f" and {len(shown) - 6} more" if len(shown) > 6 else "")


def _stack_lines(number: int, stack: FoundStack) -> Iterable[str]:
    parts = " + ".join(f"{part.shown} ({part.first.place})" for part in stack.parts)
    figures = stack.stack.figures
    lengths = {"stick-out": figures.stickout_um, "grip": figures.grip_um, "gauge": stack.gauge_um}
    shown = ", ".join(f"{name} {show_mm(um, 1)}" for name, um in lengths.items())
    yield f"{number}. {parts}"
    yield f"   {shown}"
    yield from (f"   {_doubt(finding)}" for finding in stack.doubts)


def _doubt(finding: Finding) -> str:
    return f"{finding.level}: {finding.text}"
