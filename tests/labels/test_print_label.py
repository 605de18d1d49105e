"""The label of an assembly: preview, print, print again, make void."""

import re
from copy import deepcopy
from uuid import uuid4

import pypdfium2
import pytest
import zxingcpp

from assemblies.actions.build import quarantine, start_rebuild
from assemblies.models import Assembly
from crib.models import Act
from labels.models import Label
from tests import makers
from tests.assemblies.spindle_shop import WANTED, confirm, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    """The shop and a released assembly."""
    shop = open_shop()
    return shop, shop.built("H-07")


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop[0])


@pytest.fixture
def released(client, shop, standing_shop):
    """A released assembly, with the toolroom signed in."""
    client.force_login(shop.toolroom)
    return deepcopy(standing_shop[1])


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


def test_the_page_tells_what_was_printed(client, released):
    assert "None was printed yet." in client.get(address(released)).content.decode()

    printed(client, released)
    page = client.get(address(released))

    text = page.content.decode()
    assert "None was printed yet." not in text
    assert "printed 1×" in text
    assert page.context["first_print"] is False


def test_the_sheet_opens_beside_the_page_which_then_asks_anew(client, released):
    page = client.get(address(released)).content.decode()

    (form,) = re.findall(r'<form[^>]*target="_blank"[^>]*>', page)
    assert f'action="{address(released)}"' in form
    (section,) = re.findall(r'<section[^>]*id="labels"[^>]*>', page)
    assert f'hx-get="{address(released)}"' in section
    renewed = re.search(r'hx-select-oob="([^"]+)"', section)[1].split(",")
    assert [name for name in renewed if page.count(f'id="{name[1:]}"') != 1] == []
    assert "#print-number" in renewed, "the next print is a print of its own"


# ---- where it stands
def print_at(client, assembly, place, **more):
    form = client.get(address(assembly)).context["form"]
    sent = {"submission": form["submission"].value(), "place": place and place.pk, **more}
    return client.post(address(assembly), {k: v for k, v in sent.items() if v is not None})


def stands_at(assembly):
    return Assembly.objects.get(pk=assembly.pk).stands_at


def test_the_rack_is_recorded_with_the_print_and_stands_there_the_next_time(client, shop, released):
    answer = print_at(client, released, shop.rack)

    assert answer["Content-Type"] == "application/pdf"
    assert stands_at(released) == shop.rack
    assert client.get(address(released)).context["form"]["place"].value() == shop.rack.pk


def test_a_print_without_a_place_leaves_the_assembly_where_it_is(client, shop, released):
    print_at(client, released, shop.rack)

    assert print_at(client, released, None)["Content-Type"] == "application/pdf"
    assert stands_at(released) == shop.rack


def test_the_same_place_again_is_no_second_act(client, shop, released):
    for _ in range(2):
        print_at(client, released, shop.rack)

    assert Act.objects.filter(kind="assembly.put_down").count() == 1
    assert Act.objects.filter(kind="label.print").count() == 2


def test_a_print_sent_again_does_not_move_the_assembly_back(client, shop, released):
    form = client.get(address(released)).context["form"]
    sent = {"submission": form["submission"].value(), "place": shop.rack.pk}
    client.post(address(released), sent)
    other = makers.place("RACK C1")
    print_at(client, released, other)

    client.post(address(released), sent)

    assert stands_at(released) == other


def test_a_place_that_is_no_rack_prints_nothing(client, released):
    answer = print_at(client, released, makers.place("OUTSIDE", kind="supplier"))

    assert answer.context["refused"].code == "label.form"
    assert not Label.objects.exists()


def test_the_check_at_the_spindle_names_the_rack_given_with_the_print(client, shop, released):
    confirm(shop.programmer, shop.revision, 5, WANTED, preferred=released)
    print_at(client, released, shop.rack)
    wrong = shop.label(shop.built(kind="spiral_up"))
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{wrong}?t=5")

    assert page.context["verdict"].place_text == f"Right one: {released.number}, RACK B3."


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
