"""Start an assembly with all parts of a stack that was found, or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID, uuid5

from assemblies.actions.build import set_purpose, start_assembly
from assemblies.actions.part_choices import entry_item
from assemblies.actions.parts import put_part
from assemblies.models import Assembly, ToolRequirement
from crib.actions.once import Done, do_once
from crib.actions.stock import hold
from crib.models import ItemKind, Person
from crib.rules.refusal import Refused

#: From the spindle to the tip; inserts need their cutter first.
_ORDER = tuple(ItemKind.values)


def start_found(
    *,
    by: Person,
    submission: UUID,
    entries: Sequence[str],
    name: str = "",
    meant_for: ToolRequirement | None = None,
) -> Done:
    """Give out a number and put the parts named by mark or code into its draft, in one act.

    Stick-out and grip are left empty: what counts is what is read at the bench. Raises Refused,
    and writes nothing, when one of the parts is no longer to be had.
    """

    def work(act):
        parts = [_named(entry) for entry in dict.fromkeys(entries)]
        _require_holder_and_cutter(parts)
        hold(item for item, _ in parts)
        done = start_assembly(by=by, submission=_step(submission, "start"), name=name)
        assembly = Assembly.objects.select_related("contents").get(number=int(done.result))
        for item, piece in sorted(parts, key=lambda part: _ORDER.index(part[0].kind)):
            step = _step(submission, f"put {item.pk}")
            put_part(by=by, submission=step, assembly=assembly, item=item, piece=piece)
        if meant_for is not None:
            step = _step(submission, "purpose")
            set_purpose(by=by, submission=step, assembly=assembly, meant_for=meant_for)
        act.about = f"assembly {assembly.number}"
        act.details = {"parts": list(entries)}
        return assembly.number

    return do_once(
        submission=submission, kind="assembly.start_found", by=by, needs="assembly.build", work=work
    )


def _step(submission: UUID, name: str) -> UUID:
    """Each step is an act of its own, with an id that follows from that of the whole."""
    return uuid5(submission, name)


def _named(entry: str):
    item, piece = entry_item(entry)
    if item is None:
        raise Refused(
            "finder.part_unknown",
            f"“{entry[:40]}” is neither a mark nor an item code.",
            "Search again.",
        )
    return item, piece


def _require_holder_and_cutter(parts: list) -> None:
    kinds = {item.kind for item, _ in parts}
    if not {ItemKind.HOLDER, ItemKind.CUTTER} <= kinds or len(kinds) != len(parts):
        raise Refused(
            "finder.no_stack", "These parts are no whole stack.", "Search again and pick one."
        )
