"""Ways by which a MATCH was wrong once. Each stays shut."""

from __future__ import annotations

from uuid import uuid4

import pytest

from assemblies.models import Decision, SpindleCheck
from crib.actions.pieces import set_condition
from crib.models import HolderFacts
from crib.rules.refusal import Refused
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene():
    return made.Scene.ready()


def test_loading_for_another_reason_does_not_count_as_values_entered(scene):
    scene.load()
    made.record(scene.assembly, gauge_length=97_400)
    made.let_go(scene.assembly)
    scene.label = made.label_of(scene.assembly)
    assert "control.values_changed" in scene.codes()

    scene.load(reason="trial")
    assert "control.values_changed" in scene.codes()

    scene.load(reason="values_entered")
    assert "control.values_changed" not in scene.codes()


def test_a_holder_alone_can_be_too_heavy_for_the_machine(scene):
    scene.machine.mass_max_g = 1_000
    scene.machine.save()
    holder = scene.assembly.current_build.parts.get(role="holder")
    HolderFacts.objects.filter(item=holder.item).update(mass_g=9_000)

    assert "machine.mass_over_limit" in scene.codes()


def test_what_was_ground_does_not_come_back_under_its_old_readings(scene):
    piece = scene.assembly.current_build.parts.get(role="holder").piece
    admin = makers.person("admin")
    set_condition(by=admin, submission=uuid4(), piece=piece, condition="worn", note="taper fretted")
    with pytest.raises(Refused) as refused:
        set_condition(by=admin, submission=uuid4(), piece=piece, condition="in_service")
    assert refused.value.code == "piece.built_in"
    assert scene.word() == "stop"


def test_the_same_form_with_another_answer_is_refused(scene):
    by, submission = makers.person("operator"), uuid4()

    def refuse(reason):
        return scene.decide(Decision.REFUSED, by=by, submission=submission, reason=reason)

    refuse("wrong_tool")
    assert refuse("wrong_tool").repeated
    with pytest.raises(Refused) as refused:
        refuse("mark_differs")
    assert refused.value.code == "check.answered"
    assert SpindleCheck.objects.get().reason == "wrong_tool"
