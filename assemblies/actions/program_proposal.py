"""Which program a file seems to be, told from its first lines and its name. Writes nothing."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.models import Program
from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.text import NotAProgram
from assemblies.rules.program_names import NameAndMark, names_in, next_mark
from crib.rules.keys import key_of

#: So much of a file is looked at for its name [bytes].
HEAD_BYTES = 65_536


@dataclass(frozen=True)
class Proposal:
    """A name, a revision mark and a title for somebody to look at; `refused` says why none."""

    name: str = ""
    mark: str = ""
    title: str = ""
    #: Marks that the program has already, oldest first; None: there is no such program yet.
    marks: tuple[str, ...] | None = None
    #: Other programs that say the same number in their file.
    same_number: tuple[str, ...] = ()
    refused: str = ""


def proposal_for(head: bytes, file_name: str, typed_name: str = "") -> Proposal:
    """What to call the program that begins with `head`; a typed name is taken as it is."""
    number = title = ""
    if head:
        try:
            reading = read_program(_whole_lines(head))
        except NotAProgram as error:
            return Proposal(refused=str(error))
        number, title = reading.program_number, _shown(reading.program_name)
    if typed_name.strip():
        names = [NameAndMark(typed_name.strip())]
    else:
        names = names_in(_shown(file_name), number, title)
    known, program = _known(names)
    twins = _with_number(number) if number and program is None else []
    if not file_name and not typed_name.strip() and len(twins) == 1:
        # A pasted text has no name of its own, so its number may tell the program.
        known, program = NameAndMark(twins[0].name), twins[0]
    chosen = known or (names[0] if names else NameAndMark(""))
    return _proposal(chosen, program, title, twins)


def _whole_lines(head: bytes) -> bytes:
    """Without the line that the limit cuts: half a letter would spoil the reading of all."""
    if len(head) < HEAD_BYTES:
        return head
    return head[:HEAD_BYTES].rpartition(b"\n")[0] or head[:HEAD_BYTES]


def _shown(text: str) -> str:
    return "".join(sign if sign.isprintable() else " " for sign in text).strip()


def _known(names: list[NameAndMark]) -> tuple[NameAndMark | None, Program | None]:
    """The first of `names` that a program has."""
    there = {
        program.name_key: program
        for program in Program.objects.filter(name_key__in=[key_of(one.name) for one in names])
    }
    for one in names:
        program = there.get(key_of(one.name))
        if program is not None:
            return NameAndMark(program.name, one.mark), program
    return None, None


#: Programs that are named because their file has the same number.
_NAMED = 3


def _with_number(number: str) -> list[Program]:
    """Programs that say the same program number in a file of theirs."""
    rows = Program.objects.filter(revisions__readings__program_number=number)
    return list(rows.distinct()[:_NAMED])


def _proposal(
    chosen: NameAndMark, program: Program | None, title: str, twins: list[Program]
) -> Proposal:
    if not chosen.name:
        return Proposal(title=title[:120])
    marks = None
    if program is not None:
        rows = program.revisions.order_by("added_at", "id")
        marks = tuple(rows.values_list("label", flat=True))
    used = {key_of(mark) for mark in marks or ()}
    is_free = chosen.mark and key_of(chosen.mark) not in used
    mark = chosen.mark if is_free else next_mark(marks or ())
    # The file's own words may be as long as they like; a known program keeps its title.
    return Proposal(
        name=chosen.name,
        mark=mark,
        title="" if program else title[:120],
        marks=marks,
        same_number=tuple(twin.name for twin in twins if program is None),
    )
