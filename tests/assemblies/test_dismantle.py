"""A whole assembly taken apart: one act, and every part is where it was said to go."""

from uuid import uuid4

import pytest

from assemblies.actions import dismantle as taking
from assemblies.actions.dismantle import Fate
from assemblies.actions.part_returns import FIT, GONE, QUARANTINE, REGRIND, WORN, destinations_of
from assemblies.models import AssemblyState, Build
from crib.actions.places import account
from crib.models import Act, Condition, ItemKind, Movement, Piece, PlaceKind
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db


def dismantle(assembly, reason="job is over", by=None, submission=None, retires=False, **fates):
    return taking.dismantle(
        by=by or made.toolroom(),
        submission=submission or uuid4(),
        assembly=assembly,
        fates={
            role: fate if isinstance(fate, Fate) else Fate(fate) for role, fate in fates.items()
        },
        reason=reason,
        retires=retires,
    )


def where(piece):
    found = Piece.objects.select_related("place").get(pk=piece.pk)
    return found.place.kind, found.condition


def at(item, place):
    return Movement.objects.on_hand(item.pk, place.pk)


def test_every_part_goes_where_it_was_said_to_in_one_act():
    some = made.some_parts()
    assembly = made.released(some)
    before = Act.objects.count()

    dismantle(
        assembly,
        holder=FIT,
        collet=Fate(WORN, "640 hours"),
        nut=Fate(GONE, "thread torn"),
        cutter=Fate(REGRIND, "dull"),
    )

    assert Act.objects.count() == before + 1
    assert where(some.holder) == (PlaceKind.STORAGE, Condition.IN_SERVICE)
    assert where(some.collet) == (PlaceKind.QUARANTINE, Condition.WORN)
    assert where(some.cutter) == (PlaceKind.REGRIND, Condition.REGRIND)
    assert at(some.nut, account(PlaceKind.GONE)) == 1
    assert not any(at(item, assembly.contents) for item, _ in some.in_order())
    assert Piece.objects.get(pk=some.cutter.pk).condition_note == "dull"


def test_what_is_not_named_goes_back_to_its_drawer():
    some = made.some_parts()
    dismantle(made.built(some))
    assert {where(piece)[0] for piece in (some.holder, some.collet, some.cutter)} == {
        PlaceKind.STORAGE
    }
    assert at(some.nut, some.drawer) == 5


def test_the_number_stays_with_an_empty_draft_and_the_old_revision_keeps_its_list():
    assembly = made.released()
    last = assembly.current_build

    dismantle(assembly)

    stored = made.again(assembly)
    draft = stored.current_build
    assert (stored.state, draft.is_draft, draft.parts.count()) == (AssemblyState.DRAFT, True, 0)
    assert (draft.stickout_um, draft.torque_mnm) == (None, None)
    last.refresh_from_db()
    assert (last.live, last.end_reason, last.parts.count()) == (False, "job is over", 4)
    assert set(last.parts.values_list("live", flat=True)) == {False}


def test_the_number_is_retired_where_that_was_asked_for():
    assembly = made.released()
    dismantle(assembly, retires=True)
    stored = made.again(assembly)
    assert (stored.state, stored.state_note) == (AssemblyState.RETIRED, "job is over")
    assert stored.current_build is None
    assert made.code_of(dismantle, assembly) == "assembly.retired"


def test_a_draft_is_taken_apart_and_a_quarantine_ends():
    assembly = made.drafted()
    assembly.state = AssemblyState.QUARANTINED
    assembly.save()
    dismantle(assembly)
    assert made.again(assembly).state == AssemblyState.DRAFT
    assert Build.objects.filter(assembly=assembly, live=True).count() == 1


def test_the_label_of_what_was_taken_apart_no_longer_counts():
    scene = made.Scene.ready()
    dismantle(scene.assembly)
    assert scene.word() == "stop"


def test_a_piece_out_of_service_never_goes_back_to_a_drawer():
    some = made.some_parts()
    assembly = made.built(some)
    Piece.objects.filter(pk=some.collet.pk).update(condition=Condition.WORN, condition_note="640 h")
    dismantle(assembly, collet=FIT)
    assert where(some.collet) == (PlaceKind.QUARANTINE, Condition.WORN)


def test_a_quarantined_piece_that_is_scrapped_is_recorded_as_scrapped():
    some = made.some_parts()
    assembly = made.built(some)
    Piece.objects.filter(pk=some.collet.pk).update(condition=Condition.QUARANTINED)
    dismantle(assembly, collet=Fate(GONE, "cracked"))
    assert where(some.collet) == (PlaceKind.GONE, Condition.SCRAPPED)


@pytest.mark.parametrize(
    ("fates", "reason", "code", "field"),
    [
        ({}, " ", "dismantle.reason", "reason"),
        ({"sleeve": FIT}, "over", "dismantle.parts_differ", ""),
        ({"cutter": "elsewhere"}, "over", "part.destination", "goes_to_cutter"),
        ({"cutter": Fate(GONE, " ")}, "over", "part.reason", "note_cutter"),
        ({"collet": Fate(REGRIND, "dull")}, "over", "part.not_sharpened", "goes_to_collet"),
    ],
)
def test_a_refusal_names_the_field_and_moves_nothing(fates, reason, code, field):
    some = made.some_parts()
    assembly = made.built(some)
    before = made.written()

    refused = made.refusal(dismantle, assembly, reason, **fates)

    assert (refused.code, refused.field) == (code, field)
    assert made.written() == before
    assert where(some.holder)[0] == PlaceKind.ASSEMBLY


def test_a_part_without_any_drawer_keeps_the_whole_assembly_together():
    item, drawer, assembly = makers.nut_item(), makers.place(), made.drafted()
    makers.stocked(item, drawer, 1)
    made.put(assembly, item)
    drawer.kind = PlaceKind.PERSON
    drawer.save()
    assert made.code_of(dismantle, assembly) == "part.no_home"
    assert assembly.current_build.parts.count() == 4


def test_the_same_page_sent_twice_takes_it_apart_once():
    assembly, by, number = made.released(), made.toolroom(), uuid4()
    assert not dismantle(assembly, by=by, submission=number).repeated
    before = made.written()
    assert dismantle(assembly, by=by, submission=number).repeated
    assert made.written() == before


@pytest.mark.parametrize("role", ["operator", "programmer", "buyer", "lead"])
def test_only_toolroom_and_admin_take_apart(role):
    assembly = made.built()
    with pytest.raises(NotAllowed):
        dismantle(assembly, by=makers.person(role))


def test_only_cutters_are_sharpened_again():
    ways = {kind: {code for code, _ in destinations_of(kind)} for kind in ItemKind.values}
    assert [kind for kind, codes in ways.items() if REGRIND in codes] == [ItemKind.CUTTER]
    assert ways[ItemKind.NUT] == {FIT, QUARANTINE, WORN, GONE}
