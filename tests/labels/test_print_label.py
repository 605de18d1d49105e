"""The label of an assembly: preview, print, print again, make void."""

from uuid import uuid4

import pypdfium2
import pytest
import zxingcpp

from assemblies.actions.build import quarantine, start_rebuild
from labels.models import Label
from tests import makers
from tests.assemblies.spindle_shop import open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return open_shop()


@pytest.fixture
def released(client, shop):
    """A released assembly, with the toolroom signed in."""
    client.force_login(shop.toolroom)
    return shop.built("H-07")


def address(assembly):
    return f"/assemblies/{assembly.number}/label/"


def printed(client, assembly):
    page = client.get(address(assembly))
    return client.post(
        address(assembly), {"submission": page.context["form"]["submission"].value()}
    )


def drawn(answer):
    """The only page of a PDF: its size in mm, its text, and what its symbols say."""
    pdf = pypdfium2.PdfDocument(answer.content)
    assert len(pdf) == 1
    page = pdf[0]
    size = tuple(round(points / 72 * 25.4, 1) for points in page.get_size())
    image = page.render(scale=203 / 72).to_pil()
    return (
        size,
        page.get_textpage().get_text_range(),
        [b.text for b in zxingcpp.read_barcodes(image)],
    )


def test_looking_at_the_label_gives_no_code_out(client, released):
    page = client.get(address(released))

    assert page.context["content"].holder_mark == "H-07"
    assert not Label.objects.exists()


def test_the_first_print_gives_a_code_out(client, released):
    answer = printed(client, released)

    label = Label.objects.get()
    size, text, symbols = drawn(answer)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith("inline")
    assert size == (57.0, 32.0)
    assert symbols == [f"http://127.0.0.1:8000/S/{label.code}"]
    assert "H-07" in text
    assert (label.build, label.print_count) == (released.current_build, 1)


def test_a_reprint_has_the_same_code(client, released):
    first, second = drawn(printed(client, released)), drawn(printed(client, released))

    assert first == second
    assert Label.objects.get().print_count == 2


def test_a_print_sent_twice_counts_once(client, released):
    form = {"submission": client.get(address(released)).context["form"]["submission"].value()}

    answers = [client.post(address(released), form) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [200, 200]
    assert Label.objects.get().print_count == 1


def test_a_rebuild_has_another_code_and_the_old_one_stays_in_the_history(client, shop, released):
    printed(client, released)
    shop.rebuilt(released)
    printed(client, released)

    codes = list(Label.objects.values_list("code", flat=True))
    page = client.get(address(released))
    assert len(set(codes)) == 2
    assert len(page.context["history"]) == 2
    assert page.context["valid"].build.revision == 2


@pytest.mark.parametrize("state", ["draft", "built", "quarantined"])
def test_only_a_released_assembly_has_a_label(client, shop, state):
    client.force_login(shop.toolroom)
    assembly = shop.built(released=state != "built")
    if state == "draft":
        start_rebuild(by=shop.toolroom, submission=uuid4(), assembly=assembly, reason="dull")
    if state == "quarantined":
        quarantine(by=shop.toolroom, submission=uuid4(), assembly=assembly, note="dropped")

    page = client.get(address(assembly))
    sent = client.post(address(assembly), {"submission": uuid4()})

    assert page.context["refused"].code == "label.not_released"
    assert page.context["form"] is None
    assert sent.context["refused"].code == "label.not_released"
    assert not Label.objects.exists()


def test_letters_the_typeface_lacks_are_named(client, shop):
    client.force_login(shop.toolroom)
    assembly = shop.built("Ř-07")

    page = client.get(address(assembly))

    assert page.context["missing"] == "Ř"
    assert "typeface lacks: Ř" in page.content.decode()


def test_a_mark_too_long_for_the_label_is_refused_and_gives_no_code_out(client, shop):
    client.force_login(shop.toolroom)
    assembly = shop.built("HOLDER-NUMBER-000007")

    answer = printed(client, assembly)

    assert answer.context["refused"].code == "label.too_small"
    assert not Label.objects.exists()


@pytest.mark.parametrize(
    ("base_url", "codes"),
    [
        ("http://127.0.0.1:8000", ["address.this_machine_only"]),
        ("http://localhost", ["address.this_machine_only"]),
        ("http://crib.local:8000", []),
    ],
)
def test_an_address_no_phone_can_open_is_warned_of(client, released, settings, base_url, codes):
    settings.BASE_URL = base_url

    page = client.get(address(released))

    assert [finding.code for finding in page.context["address_findings"]] == codes


def test_an_address_too_long_for_the_symbol_is_refused(client, released, settings):
    settings.BASE_URL = f"http://{'a-long-host-name.' * 4}example"

    page = client.get(address(released))

    assert page.context["refused"].code == "label.address"
    assert page.context["form"] is None


def test_a_label_made_void_is_not_printed_again(client, released):
    printed(client, released)
    form = {"submission": uuid4(), "reason": "print lost"}

    answer = client.post(f"{address(released)}cancel/", form)

    label = Label.objects.get()
    assert answer.url == address(released)
    assert (label.cancel_reason, label.cancelled_at is not None) == ("print lost", True)
    page = client.get(address(released))
    assert (page.context["refused"].code, page.context["form"]) == ("label.cancelled", None)
    assert client.post(address(released), {"submission": uuid4()}).context["refused"].code == (
        "label.cancelled"
    )


def test_making_void_needs_a_reason(client, released):
    printed(client, released)

    page = client.post(f"{address(released)}cancel/", {"submission": uuid4(), "reason": " "})

    assert page.context["cancel_form"].errors["reason"]
    assert Label.objects.get().cancelled_at is None


@pytest.mark.parametrize("role", ["operator", "programmer", "buyer"])
def test_printing_is_for_the_toolroom(client, released, role):
    client.force_login(makers.person(role))

    assert client.get(address(released)).status_code == 403
    assert client.post(address(released), {"submission": uuid4()}).status_code == 403
    assert client.post(f"{address(released)}cancel/", {"reason": "x"}).status_code == 403
    assert not Label.objects.exists()
