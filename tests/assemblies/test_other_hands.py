"""What was changed by somebody else since a page was opened, and instruments that are not to be
read from: said, and nothing written."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from assemblies.actions import build
from assemblies.models import Measurement, Weighing
from crib.models import Instrument, Movement, Piece
from tests import assembly_makers as made
from tests import makers
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def client():
    return signed_in("toolroom")


def address(name, assembly):
    return reverse(f"assemblies:{name}", args=[assembly.number])


def opened(client, name, assembly):
    """The form of a page as it is opened, with all that it carries along."""
    form = client.get(address(name, assembly)).context["form"]
    return {name: form[name].value() or "" for name in form.fields}


def rebuilt(assembly):
    """The next revision of the same number."""
    build.start_rebuild(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="dull")
    made.set_figures(made.again(assembly))
    made.make(made.again(assembly))


@pytest.mark.parametrize(
    ("page", "read", "rows"),
    [
        ("measure", {"gauge_length": "97.0"}, Measurement),
        ("weigh", {"mass_g": "900"}, Weighing),
    ],
)
def test_what_was_read_off_one_revision_never_goes_to_the_next(client, page, read, rows):
    assembly = made.built()
    typed = opened(client, page, assembly) | read
    rebuilt(assembly)

    answer = client.post(address(page, assembly), typed)

    assert answer.status_code == 200
    assert "the page was of r1" in text_of(answer)
    assert not rows.objects.exists()
    fresh = opened(client, page, assembly) | read
    assert client.post(address(page, assembly), fresh).status_code == 302
    assert rows.objects.get().build.revision == 2


def test_the_fate_of_a_broken_cutter_does_not_befall_its_successor(client):
    some = made.some_parts()
    assembly = made.drafted(some)
    page = opened(client, "dismantle", assembly)
    sound = makers.piece(some.cutter.item, some.drawer)
    made.put(assembly, sound.item, sound)
    moved = Movement.objects.count()

    answer = client.post(
        address("dismantle", assembly),
        page | {"reason": "crash", "goes_to_cutter": "gone", "note_cutter": "broken"},
    )

    assert answer.status_code == 200
    assert "others than on this page" in text_of(answer)
    assert Movement.objects.count() == moved
    assert Piece.objects.get(pk=sound.pk).condition == "in_service"


@pytest.mark.parametrize(
    ("page", "field", "kind", "retired", "said"),
    [
        ("measure", "instrument", "micrometer", True, "is out of use"),
        ("measure", "instrument", "wrench", False, "is a torque wrench"),
        ("measure", "instrument", "scale", False, "is a scale"),
        ("measure", "runout_instrument", "indicator", True, "is out of use"),
        ("weigh", "instrument", "scale", True, "is out of use"),
        ("weigh", "instrument", "caliper", False, "is a caliper"),
        ("weigh", "instrument", None, False, "No scale is marked"),
    ],
)
def test_an_instrument_that_is_not_to_be_read_from_is_named(
    client, page, field, kind, retired, said
):
    if kind is not None:
        Instrument.objects.create(mark="I-9", kind=kind, is_retired=retired)
    assembly = made.built()
    read = {"gauge_length": "97", "runout": "0.01", "mass_g": "900", field: "i-9"}

    answer = client.post(address(page, assembly), opened(client, page, assembly) | read)

    assert answer.status_code == 200
    assert said in " ".join(answer.context["form"].errors[field])
    assert not Measurement.objects.exists()
    assert not Weighing.objects.exists()


@pytest.mark.parametrize("figures", [18, 19, 5_000])
def test_a_number_longer_than_any_key_names_no_purpose(client, figures):
    assembly = made.started()
    sent = {"submission": str(uuid4()), "meant_for": "9" * figures}
    answer = client.post(address("bench_purpose", assembly), sent)
    assert answer.status_code == 422
    assert not made.again(assembly).current_build.meant_for_id
