"""Two people at the bench for the same loose part, limit, mark or assembly, where it commits."""

from __future__ import annotations

from uuid import uuid4

import pytest

from assemblies.actions import shop_settings
from assemblies.actions.copying import copy_assembly
from assemblies.actions.dismantle import dismantle
from assemblies.actions.part_finder_start import start_found
from assemblies.actions.shop_limits import current_limits
from assemblies.models import Assembly, Build, BuildPart, Measurement
from crib.actions import instruments
from crib.models import Instrument, Item, Movement, SettingChange
from tests import assembly_makers as made
from tests import makers
from tests.crib.test_two_at_once import at_once, meet_after, refusals

__all__ = ["meet_after"]
pytestmark = pytest.mark.django_db(transaction=True)

RACES = range(2)


def assert_ledger_and_parts_agree():
    """What the ledger says lies in each assembly is what its live build lists."""
    for assembly in Assembly.objects.select_related("contents"):
        listed = dict.fromkeys(Item.objects.values_list("pk", flat=True), 0)
        for part in BuildPart.objects.filter(build__assembly=assembly, build__live=True):
            listed[part.item_id] += part.quantity
        for item, count in listed.items():
            assert Movement.objects.on_hand(item, assembly.contents_id) == count


@pytest.mark.parametrize("race", RACES)
def test_the_last_loose_nut_goes_to_the_copy_or_to_the_found_stack(race):
    some = made.some_parts()
    assembly = made.released(some)
    # One nut is left loose; another holder and cutter wait for it.
    moved = Movement.objects.on_hand(some.nut.pk, some.drawer.pk) - 1
    toolroom, other = made.toolroom(), made.toolroom()
    for _ in range(moved):
        made.put(made.started(), some.nut)
    holder, cutter = (makers.piece(p.item, some.drawer) for p in (some.holder, some.cutter))

    answers = at_once(
        lambda: copy_assembly(by=toolroom, submission=uuid4(), assembly=made.again(assembly)),
        lambda: start_found(
            by=other, submission=uuid4(), entries=[holder.mark, some.nut.code, cutter.mark]
        ),
    )

    assert len(refusals(answers)) <= 1
    assert set(refusals(answers)) <= {
        "part.none_left",
        "part.not_in_stock",
        "stock.piece_elsewhere",
    }
    assert Movement.objects.on_hand(some.nut.pk, some.drawer.pk) == 0
    for piece in (holder, cutter):
        assert BuildPart.objects.filter(piece=piece, live=True).count() <= 1
    assert_ledger_and_parts_agree()


@pytest.mark.parametrize("changes_before", [0, 1])
def test_a_limit_changed_by_two_is_changed_by_one(changes_before, meet_after):
    def change(by, um, seen):
        return shop_settings.change_limit(
            by=by, submission=uuid4(), name="closure_um", value=um, seen=seen, reason="agreed"
        )

    first, second = makers.person("lead"), makers.person("lead")
    if changes_before:
        change(first, 250, 0)
    last = SettingChange.objects.order_by("-pk").first()
    seen = last.pk if last else 0
    meet_after((shop_settings, "_last_seen"))

    answers = at_once(lambda: change(first, 300, seen), lambda: change(second, 700, seen))

    assert refusals(answers) == ["limit.changed_meanwhile"]
    assert SettingChange.objects.count() == changes_before + 1
    assert current_limits().closure_um in (300, 700)


def test_one_mark_goes_to_one_of_two_instruments(meet_after):
    people = makers.person("toolroom"), makers.person("toolroom")
    meet_after((instruments, "_check"))

    answers = at_once(
        *(
            lambda by=by: instruments.save_instrument(
                by=by, submission=uuid4(), instrument=Instrument(mark="I-9", kind="caliper")
            )
            for by in people
        )
    )

    assert refusals(answers) == ["instrument.mark_taken"]
    assert Instrument.objects.count() == 1


@pytest.mark.parametrize("race", RACES)
def test_readings_and_taking_apart_go_one_after_the_other(race):
    assembly, by, other = made.built(), made.toolroom(), made.toolroom()

    answers = at_once(
        lambda: made.record(made.again(assembly), by=by, gauge_length=97_000),
        lambda: dismantle(
            by=other, submission=uuid4(), assembly=made.again(assembly), fates={}, reason="over"
        ),
    )

    assert refusals(answers) in ([], ["measure.draft"])
    assert not Measurement.objects.filter(build__revision=0).exists()
    assert Build.objects.filter(assembly=assembly, live=True).get().is_draft
    assert_ledger_and_parts_agree()


@pytest.mark.parametrize("race", RACES)
def test_a_found_stack_sent_twice_at_once_is_started_once(race):
    some, by, once = made.some_parts(), made.toolroom(), uuid4()
    entries = [some.holder.mark, some.collet.mark, some.nut.code, some.cutter.mark]

    answers = at_once(*[lambda: start_found(by=by, submission=once, entries=entries)] * 2)

    assert sorted(done.repeated for done in answers) == [False, True]
    assert Assembly.objects.count() == 1
    assert_ledger_and_parts_agree()
