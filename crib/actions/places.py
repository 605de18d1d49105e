"""Places: the shop's racks and drawers, and the accounts that the ledger balances against."""

from __future__ import annotations

from uuid import UUID

from django.core.exceptions import ValidationError

from crib.actions.once import Done, do_once
from crib.models import Person, Place, PlaceKind
from crib.rules.keys import key_of
from crib.rules.refusal import Refused

_ACCOUNTS = {
    PlaceKind.SUPPLIER: ("SUPPLIERS", "outside the shop"),
    PlaceKind.PERSON: ("TAKEN OUT", "with people and at machines"),
    PlaceKind.GONE: ("GONE", "used up or scrapped"),
    PlaceKind.QUARANTINE: ("QUARANTINE", "set aside, to be looked at"),
    PlaceKind.REGRIND: ("RE-SHARPENING", "out to be sharpened"),
    PlaceKind.DIFFERENCE: ("COUNTS", "differences found by counting"),
}


def account(kind: PlaceKind) -> Place:
    """The one place of a kind that is not a rack: made when it is first needed."""
    code, name = _ACCOUNTS[kind]
    place, _ = Place.objects.get_or_create(
        code_key=key_of(code), kind=kind, defaults={"code": code, "name": name}
    )
    return place


def save_place(*, by: Person, submission: UUID, place: Place) -> Done:
    """Add or change a rack or drawer. Refuses accounts, a code in use and a loop of places."""

    def work(act):
        _check_place(place)
        place.save()
        act.about = f"place {place.code}"
        return place.pk

    return do_once(submission=submission, kind="place.save", by=by, needs="places.edit", work=work)


def _check_place(place: Place) -> None:
    place.code_key = key_of(place.code)
    _refuse_account(place)
    _refuse_loop(place)
    _refuse_taken_code(place)
    try:
        place.full_clean()
    except ValidationError as error:
        raise Refused("place.not_valid", " ".join(error.messages), field="code") from error


def _refuse_account(place: Place) -> None:
    """Neither made here nor turned into a rack, nor its code taken before it is first needed."""
    before = Place.objects.filter(pk=place.pk).values_list("kind", flat=True).first()
    kept_codes = {key_of(code) for code, _ in _ACCOUNTS.values()}
    if {place.kind, before} - {None, PlaceKind.STORAGE} or place.code_key in kept_codes:
        raise Refused(
            "place.is_account",
            f"{place.code} is an account of the ledger, not a rack.",
            "Give the rack another code.",
            field="code",
        )


def _refuse_taken_code(place: Place) -> None:
    if Place.objects.filter(code_key=place.code_key).exclude(pk=place.pk).exists():
        raise Refused("place.code_taken", "There is a place with this code already.", field="code")


def _refuse_loop(place: Place) -> None:
    above = place.parent
    while above is not None:
        if place.pk is not None and above.pk == place.pk:
            raise Refused(
                "place.inside_itself",
                f"{place.code} would stand inside itself.",
                "Pick another place around it.",
                field="parent",
            )
        above = above.parent
