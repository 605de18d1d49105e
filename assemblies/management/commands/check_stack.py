"""`manage.py check_stack FILE|- [--json] [--shop]`: do these parts go together.

Ends with 0 when everything agrees (notes count as agreeing), with 1 for something to look at or
not known, with 2 for a stop, with 3 for input that is no stack. Writes nothing.
"""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError, DjangoHelpFormatter
from django.db import DatabaseError

from assemblies.actions.shop_limits import limits_in_force
from assemblies.rules.fit import stack_findings
from assemblies.rules.shop_settings import InForce
from assemblies.rules.stack_json import MOST_BYTES, AskedStack, NotAStack, read_stack
from assemblies.rules.stack_json_names import ENTRIES, LIMIT_ENTRIES
from crib.reference import tables
from crib.rules.finding import Finding, Level, worst_first, worst_level

TO_LOOK_AT, A_STOP, BAD_INPUT = 1, 2, 3
_TOLD = 30
_ENDS = """\
ends with  0  everything agrees; notes count as agreeing
           1  something to look at, or not known
           2  a stop
           3  input that is no stack; each slip is named by its place

One JSON object; every name may be left out or null, which is "not recorded". Lengths in mm as
12.7, "12.7" or "1/2 in", torque in N·m, speed in 1/min, mass in g.
stage: build or release (usual: release). coolant_wanted: true or false.
"""


class _HelpFormatter(RawDescriptionHelpFormatter, DjangoHelpFormatter):
    """Keeps the lines of the names as they are."""


class Command(BaseCommand):
    help = "Judge one stack, written as JSON, with the rules of the bench. Writes nothing."
    requires_system_checks = []

    def create_parser(self, prog_name, subcommand, **kwargs):
        kwargs |= {"formatter_class": _HelpFormatter, "epilog": _ENDS + "\n".join(_names())}
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.error = lambda message: self._refuse(parser, message)
        return parser

    def _refuse(self, parser: ArgumentParser, message: str) -> None:
        """Bad arguments end as other bad input does, not as a stop."""
        if getattr(self, "_called_from_command_line", False):
            parser.print_usage(sys.stderr)
            parser.exit(BAD_INPUT, f"{parser.prog}: {message}\n")
        raise CommandError(message, returncode=BAD_INPUT)

    def add_arguments(self, parser):
        parser.add_argument("file", help="the stack as JSON; - for standard input")
        parser.add_argument("--json", action="store_true", help="all of it, for scripts")
        parser.add_argument(
            "--shop", action="store_true", help="the limits set in this shop (asks the database)"
        )

    def handle(self, *args, file: str, **options):
        in_force = _limits_of_the_shop() if options["shop"] else InForce()
        try:
            asked = read_stack(_bytes_of(file), in_force.bench)
        except NotAStack as error:
            self._bad_input(error, options["json"])
        findings = [*in_force.faults, *_judged(asked)]
        if options["json"]:
            self.stdout.write(json.dumps(as_json(asked, findings), indent=2, ensure_ascii=False))
        else:
            self.stdout.write("\n".join(_lines(findings)))
        if code := exit_code(findings):
            sys.exit(code)

    def _bad_input(self, error: NotAStack, wants_json: bool) -> None:
        if wants_json:
            slips = [{"path": slip.path, "expected": slip.expected} for slip in error.slips]
            self.stdout.write(json.dumps({"bad_input": slips}, indent=2, ensure_ascii=False))
        told = [str(slip) for slip in error.slips[:_TOLD]]
        if more := len(error.slips) - _TOLD:
            told += [f"and {more} more"] if more > 0 else []
        raise CommandError("\n".join(told), returncode=BAD_INPUT) from error


def _limits_of_the_shop() -> InForce:
    try:
        return limits_in_force()
    except DatabaseError as error:
        why = "The limits of this shop cannot be read: its database does not answer."
        raise CommandError(why, returncode=BAD_INPUT) from error


def _names() -> Iterable[str]:
    """What each part may say, for the help."""
    for part, entries in {**ENTRIES, "limits": LIMIT_ENTRIES}.items():
        yield f"{part}: {', '.join(entries)}"


def _bytes_of(file: str) -> bytes:
    """The file, or as much of it as tells that it is too large."""
    if file == "-":
        return _standard_input()
    try:
        with Path(file).open("rb") as opened:
            return opened.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "This is no name of a file"
        raise CommandError(f"{file[:200]!r}: {why}.", returncode=BAD_INPUT) from error


def _standard_input() -> bytes:
    if sys.stdin is None:
        raise CommandError("Standard input is closed.", returncode=BAD_INPUT)
    return sys.stdin.buffer.read(MOST_BYTES + 1)


def _judged(asked: AskedStack) -> list[Finding]:
    return stack_findings(asked.stack, asked.limits, asked.stage, tables())


def exit_code(findings: Iterable[Finding]) -> int:
    """What the command ends with."""
    worst = worst_level(findings)
    if worst.is_stop:
        return A_STOP
    return TO_LOOK_AT if worst in (Level.CHECK, Level.UNKNOWN) else 0


# ---- JSON
def as_json(asked: AskedStack, findings: list[Finding]) -> dict:
    """The answer for scripts; its names do not change."""
    return {
        "stage": str(asked.stage),
        "summary": {
            "worst": str(worst_level(findings)),
            "counts": _counts(findings),
            "ends_with": exit_code(findings),
        },
        "findings": [finding.as_dict() for finding in worst_first(findings)],
    }


def _counts(findings: Iterable[Finding]) -> dict[str, int]:
    counts = Counter(finding.level for finding in findings)
    return {str(level): counts[level] for level in Level}


# ---- text
def _lines(findings: list[Finding]) -> Iterable[str]:
    for finding in worst_first(findings):
        yield f"{finding.level:9}  {finding.code:28}  {finding.text}"
        if finding.remedy and finding.level != Level.PASS:
            yield f"{'':41}  {finding.remedy}"
    counts = {level: count for level, count in _counts(findings).items() if count}
    told = ", ".join(f"{count} {level}" for level, count in counts.items())
    yield f"Worst: {worst_level(findings)}. {told}."
