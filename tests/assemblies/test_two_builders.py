"""Two people at the bench at the same moment, on a database that commits."""

from uuid import uuid4

import pytest

from assemblies.actions import build
from assemblies.actions.copying import copy_assembly
from assemblies.actions.dismantle import dismantle
from assemblies.models import Assembly, AssemblyState, Build, BuildPart
from crib.models import Movement, Piece
from labels.actions.print_label import print_label
from labels.models import Label
from tests import assembly_makers as made
from tests import makers
from tests.crib.test_two_at_once import at_once, refusals

pytestmark = pytest.mark.django_db(transaction=True)

RACES = range(3)


def puts(assembly, item, piece=None):
    by = made.toolroom()
    return lambda: made.put(assembly, item, piece, by)


@pytest.mark.parametrize("race", RACES)
def test_a_number_is_given_once(race):
    people = [made.toolroom() for _ in range(4)]

    answers = at_once(
        *(lambda by=by: build.start_assembly(by=by, submission=uuid4()) for by in people)
    )

    assert refusals(answers) == []
    assert sorted(int(done.result) for done in answers) == [1001, 1002, 1003, 1004]
    assert Build.objects.filter(live=True).count() == 4


@pytest.mark.parametrize("race", RACES)
def test_one_form_sent_twice_at_once_gives_one_number(race):
    by, once = made.toolroom(), uuid4()

    answers = at_once(*[lambda: build.start_assembly(by=by, submission=once)] * 2)

    assert sorted(done.repeated for done in answers) == [False, True]
    assert len({done.result for done in answers}) == 1
    assert Assembly.objects.count() == 1


@pytest.mark.parametrize("race", RACES)
def test_a_piece_goes_into_one_of_two_drafts(race):
    some, first, second = made.some_parts(), made.started(), made.started()
    holder = Piece.objects.select_related("place", "item").get(pk=some.holder.pk)

    answers = at_once(puts(first, holder.item, holder), puts(second, holder.item, holder))

    assert refusals(answers) in (["stock.piece_elsewhere"], ["part.not_in_stock"])
    assert BuildPart.objects.filter(piece=holder, live=True).count() == 1
    assert Movement.objects.filter(piece=holder, reason="build").count() == 1


@pytest.mark.parametrize("race", RACES)
def test_two_drafts_that_swap_their_parts_do_not_wait_for_each_other(race):
    one, two = made.some_parts(), made.some_parts()
    first, second = made.started(), made.started()
    made.put(first, one.cutter.item, one.cutter)
    made.put(second, two.cutter.item, two.cutter)
    spare_of_one, spare_of_two = (
        makers.piece(some.cutter.item, some.drawer) for some in (one, two)
    )

    answers = at_once(
        puts(first, two.cutter.item, spare_of_two), puts(second, one.cutter.item, spare_of_one)
    )

    assert refusals(answers) == []
    assert BuildPart.objects.get(build__assembly=first).piece == spare_of_two
    assert BuildPart.objects.get(build__assembly=second).piece == spare_of_one


@pytest.mark.parametrize("race", RACES)
def test_a_draft_is_made_once(race):
    assembly, people = made.drafted(), [made.toolroom() for _ in range(2)]

    answers = at_once(*(lambda by=by: made.make(made.again(assembly), by=by) for by in people))

    assert refusals(answers) == ["build.made"]
    assert Build.objects.get(assembly=assembly).revision == 1


@pytest.mark.parametrize("race", RACES)
def test_two_rebuilds_open_one_draft(race):
    assembly, people = made.released(), [made.toolroom() for _ in range(2)]

    answers = at_once(
        *(
            lambda by=by: build.start_rebuild(
                by=by, submission=uuid4(), assembly=made.again(assembly), reason="dull"
            )
            for by in people
        )
    )

    assert refusals(answers) == ["rebuild.draft"]
    assert Build.objects.filter(assembly=assembly).count() == 2


@pytest.mark.parametrize("race", RACES)
def test_a_quarantine_is_never_lost_to_a_release(race):
    assembly, by, operator = made.measured(), made.toolroom(), made.operator()
    old_page = made.again(assembly)

    at_once(
        lambda: made.let_go(old_page, by=by),
        lambda: build.quarantine(
            by=operator, submission=uuid4(), assembly=made.again(assembly), note="dropped"
        ),
    )

    assert made.again(assembly).state == AssemblyState.QUARANTINED


@pytest.mark.parametrize("race", RACES)
def test_two_first_prints_make_one_code(race):
    assembly, people = made.released(), [made.toolroom() for _ in range(2)]

    answers = at_once(
        *(
            lambda by=by: print_label(by=by, submission=uuid4(), assembly=made.again(assembly))
            for by in people
        )
    )

    assert refusals(answers) == []
    assert len({done.result for done in answers}) == 1
    assert Label.objects.get().print_count == 2


@pytest.mark.parametrize("race", RACES)
def test_a_load_and_a_rebuild_leave_no_load_of_the_old_revision_after_it(race):
    scene, by, operator = made.Scene.ready(), made.toolroom(), made.operator()

    answers = at_once(
        lambda: scene.decide(by=operator),
        lambda: build.start_rebuild(
            by=by, submission=uuid4(), assembly=made.again(scene.assembly), reason="dull"
        ),
    )

    assert refusals(answers) in ([], ["check.not_acceptable"])
    assert scene.word() == "stop"


@pytest.mark.parametrize("race", RACES)
def test_an_assembly_is_taken_apart_once(race):
    assembly, people = made.released(), [made.toolroom() for _ in range(2)]

    answers = at_once(
        *(
            lambda by=by: dismantle(
                by=by,
                submission=uuid4(),
                assembly=made.again(assembly),
                fates={},
                reason="job is over",
                retires=True,
            )
            for by in people
        )
    )

    assert refusals(answers) == ["assembly.retired"]
    assert Movement.objects.filter(reason="unbuild").count() == 4


@pytest.mark.parametrize("race", RACES)
def test_two_copies_share_out_one_spare_piece(race):
    some = made.some_parts()
    assembly, people = made.released(some), [made.toolroom() for _ in range(2)]
    spare = makers.piece(some.cutter.item, some.drawer)

    answers = at_once(
        *(
            lambda by=by: copy_assembly(by=by, submission=uuid4(), assembly=made.again(assembly))
            for by in people
        )
    )

    assert refusals(answers) == []
    assert BuildPart.objects.filter(piece=spare, live=True).count() == 1
    assert BuildPart.objects.filter(role="nut", live=True).count() == 3
