"""Marked pieces: adding one, its condition, the stud in a holder, and its hours."""

from __future__ import annotations

from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from crib.actions.once import Done, do_once
from crib.actions.places import account
from crib.actions.stock import hold, post
from crib.models import (
    Act,
    Condition,
    ItemKind,
    Movement,
    Person,
    Piece,
    Place,
    PlaceKind,
    Reason,
    StudState,
    Use,
)
from crib.rules.keys import key_of
from crib.rules.refusal import Refused


def add_piece(
    *, by: Person, submission: UUID, piece: Piece, at_place: Place, reason: Reason = Reason.RECEIVE
) -> Done:
    """Give a part its mark for life and book it in at a rack."""

    def work(act):
        if not at_place.is_usable:
            raise Refused("stock.not_a_rack", f"{at_place.shown} is not a rack.", field="place")
        _check_piece(piece)
        _add_new(piece)
        post(
            act=act,
            item=piece.item,
            quantity=1,
            from_place=account(PlaceKind.SUPPLIER),
            to_place=at_place,
            reason=reason,
            piece=piece,
        )
        act.about = f"piece {piece.mark}"
        return piece.pk

    return do_once(submission=submission, kind="piece.add", by=by, needs="items.edit", work=work)


def mark_loose(*, by: Person, submission: UUID, piece: Piece, at_place: Place) -> Done:
    """Give its mark to a part that lies loose at a rack: stock stays what it is."""

    def work(act):
        hold([piece.item])
        marked = Piece.objects.filter(item=piece.item, place=at_place).count()
        loose = Movement.objects.on_hand(piece.item_id, at_place.pk) - marked
        if not at_place.is_usable or loose < 1:
            raise Refused(
                "piece.none_loose",
                f"No unmarked {piece.item.code} lies at {at_place.shown}.",
                "Book it in as a further piece, or pick the place where it lies.",
                field="place",
            )
        _check_piece(piece)
        piece.place = at_place
        _add_new(piece)
        act.about = f"piece {piece.mark}"
        return piece.pk

    return do_once(submission=submission, kind="piece.mark", by=by, needs="items.edit", work=work)


def _check_piece(piece: Piece) -> None:
    piece.mark_key = key_of(piece.mark)
    _refuse_taken_mark(piece)
    if piece.item.kind != ItemKind.HOLDER:
        piece.stud_state, piece.stud_pattern = StudState.NOT_USED, ""
    try:
        piece.full_clean(exclude=["place"])
    except ValidationError as error:
        raise Refused("piece.not_valid", " ".join(error.messages), field="mark") from error


def _refuse_taken_mark(piece: Piece) -> None:
    taken = Piece.objects.filter(mark_key=piece.mark_key).first()
    if taken is not None:
        raise Refused(
            "piece.mark_taken",
            f"Mark {taken.mark} is on another part: {taken.item.description}.",
            "Marks are never given twice. Engrave the next free one.",
            field="mark",
        )


def _add_new(piece: Piece) -> None:
    """Insert the row. Two people with one mark get past the look-up, and one of them ends here."""
    try:
        with transaction.atomic():
            piece.save(force_insert=True)
    except IntegrityError:
        _refuse_taken_mark(piece)
        raise


def set_condition(
    *, by: Person, submission: UUID, piece: Piece, condition: Condition, note: str = ""
) -> Done:
    """Change what a piece is fit for. Loose pieces move to where that condition belongs."""

    def work(act):
        change_condition(act=act, piece=piece, condition=condition, note=note)
        act.about = f"piece {piece.mark}"
        act.details = {"condition": str(condition), "note": note}
        return piece.pk

    return do_once(
        submission=submission, kind="piece.condition", by=by, needs="items.edit", work=work
    )


def change_condition(*, act: Act, piece: Piece, condition: Condition, note: str = "") -> None:
    """Write a condition inside the act of a caller; built-in pieces stay where they are."""
    if condition not in Condition.values:
        raise Refused("piece.condition", f"“{condition}” is no condition.", field="condition")
    _check_condition_note(condition, note)
    hold([piece.item])
    before = Piece.objects.values_list("condition", flat=True).get(pk=piece.pk)
    piece.refresh_from_db(fields=["place"])
    _refuse_back_into_a_build(piece, before, condition)
    piece.condition, piece.condition_note = condition, note.strip()
    piece.save(update_fields=["condition", "condition_note"])
    target = _place_for(piece, condition)
    if target is not None and piece.place_id != target.pk:
        post(
            act=act,
            item=piece.item,
            quantity=1,
            from_place=piece.place,
            to_place=target,
            reason=_REASONS[target.kind],
            piece=piece,
            note=note.strip(),
        )


#: A built-in piece that was in one of these has left the assembly, whatever the record says.
_AWAY = frozenset({Condition.REGRIND, Condition.WORN, Condition.SCRAPPED, Condition.LOST})


def _refuse_back_into_a_build(piece: Piece, before: str, condition: Condition) -> None:
    """What was ground or written off does not come back under the readings taken before."""
    built_in = piece.place is not None and piece.place.kind == PlaceKind.ASSEMBLY
    if built_in and before in _AWAY and condition == Condition.IN_SERVICE:
        raise Refused(
            "piece.built_in",
            f"{piece.mark} is recorded in {piece.place.shown} and was {Condition(before).label}.",
            "Start a rebuild and take it out; then it can go back into service.",
        )


_REASONS = {
    PlaceKind.GONE: Reason.SCRAP,
    PlaceKind.QUARANTINE: Reason.QUARANTINE,
    PlaceKind.REGRIND: Reason.MOVE,
    PlaceKind.STORAGE: Reason.MOVE,
}


def _check_condition_note(condition: Condition, note: str) -> None:
    if condition != Condition.IN_SERVICE and not note.strip():
        raise Refused("piece.condition_reason", "Say why in a few words.", field="note")
    longest = Piece._meta.get_field("condition_note").max_length
    if len(note.strip()) > longest:
        raise Refused("piece.note_too_long", f"A reason has {longest} letters.", field="note")


def _place_for(piece: Piece, condition: Condition) -> Place | None:
    if piece.place is None or piece.place.kind == PlaceKind.ASSEMBLY:
        return None
    if condition in (Condition.SCRAPPED, Condition.LOST):
        return account(PlaceKind.GONE)
    if condition == Condition.REGRIND:
        return account(PlaceKind.REGRIND)
    if condition in (Condition.QUARANTINED, Condition.WORN):
        return account(PlaceKind.QUARANTINE)
    if piece.place.kind in (PlaceKind.QUARANTINE, PlaceKind.REGRIND, PlaceKind.GONE):
        return _home_of(piece)
    return None


def _home_of(piece: Piece) -> Place:
    """Where a piece fit for use again goes; left where it is, nobody could take it."""
    home = piece.item.home_place
    if home is None or not home.is_usable:
        raise Refused(
            "piece.no_home",
            f"{piece.item.code} has no rack or drawer of its own.",
            "Enter its home place first, then put the piece back in service.",
            field="condition",
        )
    return home


def set_stud(
    *, by: Person, submission: UUID, piece: Piece, stud_state: StudState, stud_pattern: str = ""
) -> Done:
    """Record what is screwed into a loose holder; a built-in one has its bench page for that."""

    def work(act):
        hold([piece.item])
        piece.refresh_from_db(fields=["place"])
        if piece.place is not None and piece.place.kind == PlaceKind.ASSEMBLY:
            raise Refused(
                "piece.built_in",
                f"{piece.mark} is built into {piece.place.shown}.",
                "Change the stud on the assembly's bench page.",
            )
        change_stud(act=act, piece=piece, stud_state=stud_state, stud_pattern=stud_pattern)
        act.about = f"piece {piece.mark}"
        return piece.pk

    return do_once(submission=submission, kind="piece.stud", by=by, needs="items.edit", work=work)


def change_stud(*, act: Act, piece: Piece, stud_state: StudState, stud_pattern: str = "") -> None:
    """Write the stud of a holder inside the act of a caller."""
    if piece.item.kind != ItemKind.HOLDER:
        raise Refused("piece.no_stud", f"{piece.mark} is not a holder.", field="stud_state")
    if stud_state not in StudState.values:
        raise Refused("piece.stud_state", f"“{stud_state}” is no answer.", field="stud_state")
    pattern = stud_pattern.strip() if stud_state == StudState.FITTED else ""
    if stud_state == StudState.FITTED and not pattern:
        raise Refused(
            "piece.stud_pattern",
            "Say which stud pattern is fitted.",
            "Read it from the stud, or choose “Not recorded”.",
            field="stud_pattern",
        )
    longest = Piece._meta.get_field("stud_pattern").max_length
    if len(pattern) > longest:
        raise Refused(
            "piece.stud_pattern", f"A pattern has {longest} letters.", field="stud_pattern"
        )
    hold([piece.item])
    piece.stud_state, piece.stud_pattern = stud_state, pattern
    piece.save(update_fields=["stud_state", "stud_pattern"])


def add_use(*, act: Act, piece: Piece, minutes: int, basis: str) -> Use:
    """Charge minutes of work to a piece inside the act of a caller."""
    known = {value for value, _ in Use._meta.get_field("basis").choices}
    if minutes < 1 or basis not in known:
        raise Refused(
            "piece.use",
            f"{minutes} minutes, “{basis}”: not a use.",
            "Enter at least one minute, and what it rests on.",
            field="minutes",
        )
    return Use.objects.create(act=act, piece=piece, minutes=minutes, basis=basis)
