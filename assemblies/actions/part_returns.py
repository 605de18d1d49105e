"""Where a part goes that leaves an assembly: its drawer, or an account and a condition."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.models import Assembly, BuildPart
from crib.actions.pieces import change_condition
from crib.actions.places import account
from crib.actions.stock import post
from crib.models import Act, Condition, ItemKind, Movement, Place, PlaceKind, Reason
from crib.rules.refusal import Refused

#: Where a part goes that is taken out.
FIT, QUARANTINE, REGRIND, WORN, GONE = "fit", "quarantine", "regrind", "worn", "gone"


@dataclass(frozen=True)
class Destination:
    """One way out: the words for it, the account of the ledger, and what the piece is then."""

    words: str
    account: PlaceKind | None
    condition: Condition | None
    reason: Reason


DESTINATIONS: dict[str, Destination] = {
    FIT: Destination("Fit: back to its drawer", None, None, Reason.UNBUILD),
    QUARANTINE: Destination(
        "Doubtful: quarantine", PlaceKind.QUARANTINE, Condition.QUARANTINED, Reason.QUARANTINE
    ),
    REGRIND: Destination(
        "Dull: out for re-sharpening", PlaceKind.REGRIND, Condition.REGRIND, Reason.MOVE
    ),
    WORN: Destination(
        "Worn: set aside, not used again", PlaceKind.QUARANTINE, Condition.WORN, Reason.QUARANTINE
    ),
    GONE: Destination("Finished: scrap", PlaceKind.GONE, Condition.SCRAPPED, Reason.SCRAP),
}


def destinations_of(kind: str) -> list[tuple[str, str]]:
    """What may be chosen for an item of a kind: only cutters are sharpened again."""
    return [
        (code, destination.words)
        for code, destination in DESTINATIONS.items()
        if code != REGRIND or kind == ItemKind.CUTTER
    ]


def send_back(
    *, act: Act, assembly: Assembly, part: BuildPart, goes_to: str = FIT, note: str = ""
) -> None:
    """Move a part out of the assembly, inside the act of a caller, and write its condition.

    A piece that is out of service never goes back to a drawer, whatever was chosen.
    """
    _check(part, goes_to, note)
    stays_out = goes_to == FIT and is_out_of_service(part)
    if stays_out:
        goes_to, note = QUARANTINE, part.piece.condition_note or "out of service"
    destination = DESTINATIONS[goes_to]
    post(
        act=act,
        item=part.item,
        quantity=part.quantity,
        from_place=assembly.contents,
        to_place=_place_of(destination, part, assembly),
        reason=destination.reason,
        piece=part.piece,
        note=note.strip()[:120],
    )
    if part.piece is not None and destination.condition is not None and not stays_out:
        change_condition(
            act=act, piece=part.piece, condition=destination.condition, note=note[:120]
        )


def is_out_of_service(part: BuildPart) -> bool:
    return part.piece is not None and part.piece.condition != Condition.IN_SERVICE


def _check(part: BuildPart, goes_to: str, note: str) -> None:
    if goes_to not in DESTINATIONS:
        raise Refused("part.destination", f"“{goes_to}” is no place for a part.", field="goes_to")
    if goes_to == REGRIND and part.item.kind != ItemKind.CUTTER:
        raise Refused(
            "part.not_sharpened",
            f"A {part.item.get_kind_display().lower()} is not sharpened again.",
            "Choose worn, scrap or quarantine.",
            field="goes_to",
        )
    if goes_to != FIT and not note.strip():
        raise Refused("part.reason", "Say in a few words what is wrong with it.", field="note")


def _place_of(destination: Destination, part: BuildPart, assembly: Assembly) -> Place:
    if destination.account is not None:
        return account(destination.account)
    if part.item.home_place is not None:
        return part.item.home_place
    came = (
        Movement.objects.filter(item=part.item, piece=part.piece, to_place=assembly.contents)
        .select_related("from_place")
        .first()
    )
    if came is not None and came.from_place.is_usable:
        return came.from_place
    raise Refused(
        "part.no_home",
        f"{part.item.code} has no drawer to go back to.",
        "Give the item a home place first.",
    )
