"""From a question of the part finder to its answer. Reads only."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.actions.part_finder_stock import cutter_facts, stock_for
from assemblies.actions.shop_limits import current_limits
from assemblies.actions.stack_facts import call_of, machine_facts, wanted_of
from assemblies.models import Machine, ToolRequirement
from assemblies.rules.finder.facts import Found, Sought
from assemblies.rules.finder.front import find_stacks
from assemblies.rules.stack import ProgramCall
from crib.models import Item, ItemKind, Piece
from crib.reference import tables
from crib.rules.keys import key_of
from crib.rules.refusal import Refused


@dataclass(frozen=True)
class Question:
    """What is looked for. `piece` None: any piece of the cutter's item will do.

    With the tool number of a program, `meant_for`, its rotation and its wishes count too.
    """

    cutter: Item
    machine: Machine | None = None
    piece: Piece | None = None
    stickout_um: int | None = None
    speed_rpm: int | None = None
    meant_for: ToolRequirement | None = None


def find(question: Question) -> Found:
    """Stacks that can be built now for a question, why others fall out, and what would help."""
    stock = stock_for(question.cutter, question.piece)
    return find_stacks(sought_of(question), stock, current_limits(), tables())


def sought_of(question: Question) -> Sought:
    """The question in the plain words of the rules."""
    facts = question.cutter.facts
    insert = facts.insert_item if facts is not None and facts.seats else None
    row = question.meant_for
    return Sought(
        cutter=cutter_facts(question.cutter, question.piece),
        cutter_code=question.piece.mark if question.piece else question.cutter.code,
        machine=machine_facts(question.machine) if question.machine else None,
        call=_call(question),
        stickout_um=question.stickout_um,
        insert_code=insert.code if insert else "",
        purpose=wanted_of(row) if row else None,
    )


def _call(question: Question) -> ProgramCall | None:
    """The speed that was named wins over that of the program; its rotation stays."""
    read = call_of(question.meant_for) if question.meant_for else None
    if question.speed_rpm is None:
        return read
    return ProgramCall(question.speed_rpm, read.rotation if read else None)


def named_cutter(entry: str) -> tuple[Item, Piece | None]:
    """Cutter and piece that a mark or an item's code names. Raises Refused when there is none."""
    key = key_of(entry)
    pieces = Piece.objects.select_related("item__cutter_facts__insert_item")
    piece = pieces.filter(mark_key=key).first()
    items = Item.objects.select_related("cutter_facts__insert_item")
    item = piece.item if piece else items.filter(code_key=key).first()
    if item is None:
        raise Refused(
            "finder.no_cutter",
            f"“{entry[:40]}” is neither a mark nor an item code.",
            "Pick a cutter from the list.",
            field="cutter",
        )
    if item.kind != ItemKind.CUTTER or item.facts is None:
        raise Refused(
            "finder.not_a_cutter",
            f"{entry[:40]} is {item.description or item.code}, not a cutter with its sizes.",
            "Pick a cutter from the list.",
            field="cutter",
        )
    return item, piece
