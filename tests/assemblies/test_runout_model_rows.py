"""Rows to readings in a shop of its own: nothing measured yet, and one assembly measured again."""

from __future__ import annotations

from uuid import uuid4

import pytest

from assemblies.actions.reclock import ReclockReadings, record_reclock
from assemblies.actions.runout_parts import runout_by_part
from assemblies.models import Assembly, Measurement
from crib.models import Act
from tests import assembly_makers as asm
from tests import makers
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


def read(assembly: Assembly, value_um: int) -> None:
    """A reading of the live revision, on the shank."""
    by = makers.person("admin")
    Measurement.objects.create(
        build=assembly.builds.get(live=True),
        act=Act.objects.create(id=uuid4(), kind="build.measure", by=by),
        by=by,
        quantity="runout",
        value_um=value_um,
        read_on="shank",
        distance_um=36_000,
    )


def counting() -> list[int]:
    return [one.value_um for one in runout_by_part().chosen.used]


def test_a_new_shop_is_told_how_to_begin():
    assert "No runout was measured yet." in text_of(signed_in("operator").get("/runout/"))


def test_measured_again_without_being_loosened_it_counts_once():
    assembly = asm.released()
    read(assembly, 9)
    # The length moved: another revision of the same putting-together.
    asm.record(assembly, gauge_length=asm.GAUGE_LENGTH_UM + 100)
    assert assembly.builds.get(live=True).revision == 2
    assert counting() == [9]
    read(assembly, 12)
    assert counting() == [12]


def test_loosened_and_tightened_again_it_counts_anew():
    assembly = asm.released()
    readings = ReclockReadings("collet", 14, 30, 6, 200, "shank", 36_000)
    record_reclock(
        by=asm.toolroom(), submission=uuid4(), assembly=assembly, revision=1, readings=readings
    )
    assert counting() == [14, 6]
