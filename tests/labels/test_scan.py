"""From a scan or a typed entry to the verdict, or to one plain sentence."""

from copy import deepcopy
from uuid import uuid4

import pytest
from django.core.cache import cache

from assemblies.models import SpindleCheck
from crib.models import UnknownCode
from labels.actions.print_label import cancel_label
from labels.rules.code import code_from_bits, printed_code
from labels.views.scan import MISSES_A_MINUTE
from tests import makers
from tests.assemblies.spindle_shop import open_shop

pytestmark = pytest.mark.django_db

STRANGE = code_from_bits(1)


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    """The shop, a released assembly, and the code on its label."""
    shop = open_shop()
    assembly = shop.built("H-07")
    return shop, assembly, shop.label(assembly)


@pytest.fixture
def shop(standing_shop):
    cache.clear()
    return deepcopy(standing_shop[0])


@pytest.fixture
def labelled(standing_shop):
    """A released assembly and the code on its label."""
    _, assembly, code = deepcopy(standing_shop)
    return assembly, code


def spoilt(code):
    """The code with its last letter changed: the check fails."""
    return code[:-1] + ("A" if code[-1] != "A" else "B")


@pytest.mark.parametrize(
    "path",
    ["/S/{code}", "/s/{code}", "/S/{code}/", "/S/{lower}", "/s/{printed}"],
)
def test_the_address_of_a_label_opens_in_any_case(client, shop, labelled, path):
    _, code = labelled
    shop.stand_at(client, shop.operator)

    page = client.get(path.format(code=code, lower=code.lower(), printed=printed_code(code)))

    assert page.context["verdict"].word == "MATCH"


@pytest.mark.parametrize(
    "entry",
    [
        "{code}",
        "{lower}",
        " {printed} ",
        "http://CRIB.LOCAL:8000/S/{code}",
        "https://another.house.example/s/{lower}",
    ],
)
def test_an_entry_leads_to_the_address_of_its_label(client, shop, labelled, entry):
    _, code = labelled
    client.force_login(shop.operator)
    entry = entry.format(code=code, lower=code.lower(), printed=printed_code(code))

    assert client.get("/scan/", {"entry": entry}).url == f"/S/{code}"
    assert client.post("/scan/", {"entry": entry}).url == f"/S/{code}"


def test_a_scan_spoilt_before_its_last_nine_letters_is_read(client, shop, labelled):
    _, code = labelled
    client.force_login(shop.operator)
    entry = f"httpÖ--CRIB.LOCALÖ8000-S{code}"

    assert client.get("/scan/", {"entry": entry}).url == f"/S/{code}"
    assert client.get("/scan/", {"entry": f"-S{code}", "scanned": "on"}).url == f"/S/{code}"


def test_a_typed_entry_has_exactly_nine_letters(client, shop, labelled):
    _, code = labelled
    client.force_login(shop.operator)

    assert client.get("/scan/", {"entry": f"7{code}"}).context["outcome"] == "not_a_code"


@pytest.mark.parametrize("entry", ["1001", " 1001 r1", "1001R1", "1001 R 1"])
def test_a_number_leads_to_the_verdict_where_a_machine_was_chosen(client, shop, labelled, entry):
    shop.stand_at(client, shop.operator)

    assert client.get("/scan/", {"entry": entry}).url == "/spindle/1001/"


@pytest.mark.parametrize("entry", ["h-07", "H07", "h 07", " H–07 ", "ｈ-07"])
def test_a_holder_mark_is_read_without_hyphen_blank_and_case(client, shop, labelled, entry):
    shop.stand_at(client, shop.operator)

    assert client.get("/scan/", {"entry": entry}).url == "/spindle/1001/?mark=H-07"


@pytest.mark.parametrize("entry", ["1001", "1001 r1", "H-07", "h07"])
def test_without_a_machine_a_number_or_mark_leads_to_the_assembly(client, shop, labelled, entry):
    client.force_login(shop.operator)

    page = client.get("/scan/", {"entry": entry}, follow=True)

    assert page.redirect_chain[-1][0] == "/assemblies/1001/"
    assert 'href="/spindle/1001/"' in page.text


def test_the_revision_typed_is_held_against_the_one_that_stands(client, shop, labelled):
    """Somebody reads an old tag aloud: the revision in hand is not the one on record."""
    assembly, _ = labelled
    shop.rebuilt(assembly)
    shop.stand_at(client, shop.operator)

    old = client.get("/scan/", {"entry": "1001 r1"}, follow=True)

    assert old.redirect_chain[-1][0] == "/assemblies/1001/"
    assert "r1 no longer counts: 1001 stands at r2" in old.text
    assert client.get("/scan/", {"entry": "1001 r2"}).url == "/spindle/1001/"


def test_of_two_marks_that_read_alike_neither_is_guessed(client, shop, labelled):
    makers.piece(makers.holder_item(), shop.rack, "H 0-7")
    shop.stand_at(client, shop.operator)

    assert client.get("/scan/", {"entry": "h07"}).context["outcome"] == "not_a_code"
    assert client.get("/scan/", {"entry": "h-07"}).url == "/spindle/1001/?mark=H-07"


def test_marks_items_and_places_lead_to_their_pages(client, shop):
    makers.piece(makers.collet_item(), shop.rack, "C-21")
    makers.item(code="K-12/4")
    client.force_login(shop.operator)
    leads = {
        "C-21": "/pieces/C-21/",
        "c21": "/pieces/C-21/",
        "k-12/4": "/items/K-12/4/",
        "k124": "/items/K-12/4/",
        "rack b3": f"/places/{shop.rack.pk}/",
        "RACKB3": f"/places/{shop.rack.pk}/",
    }

    assert {entry: client.get("/scan/", {"entry": entry}).url for entry in leads} == leads


def test_a_label_goes_before_a_mark_that_only_looks_like_its_code(client, shop, labelled):
    _, code = labelled
    makers.piece(makers.collet_item(), shop.rack, f"{code[:4]}.{code[4:]}")
    client.force_login(shop.operator)

    assert client.get("/scan/", {"entry": code}).url == f"/S/{code}"


@pytest.mark.parametrize("entry", ["1999", "99999", "99999 r2"])
def test_an_unknown_number_is_said_to_be_no_assembly(client, shop, entry):
    client.force_login(shop.operator)

    page = client.get("/scan/", {"entry": entry})

    assert (page.status_code, page.context["outcome"]) == (404, "no_assembly")
    assert page.context["sentence"] == f"No assembly {entry.split()[0]}."


@pytest.mark.parametrize("entry", ["H-99", "hello", "７７", "-"])
def test_what_names_nothing_is_not_a_code(client, shop, entry):
    client.force_login(shop.operator)

    page = client.get("/scan/", {"entry": entry})

    assert (page.status_code, page.context["outcome"]) == (404, "not_a_code")


def test_each_code_that_is_not_ours_has_its_sentence(client, shop, labelled):
    _, code = labelled
    client.force_login(shop.operator)
    cases = [("/S/HELLO", "not_a_code"), (f"/S/{spoilt(code)}", "check_failed")]
    cases.append((f"/S/{STRANGE}", "unknown"))

    pages = [client.get(path) for path, _ in cases]

    assert [page.context["outcome"] for page in pages] == [outcome for _, outcome in cases]
    assert len({page.context["sentence"] for page in pages}) == 3
    assert {page.status_code for page in pages} == {404}
    for page in pages:
        assert "CAN'T TELL" in page.content.decode()
        assert page["Cache-Control"] == "no-store"


def test_a_code_that_is_not_ours_leaves_a_trace_and_no_check(client, shop):
    client.force_login(shop.operator)

    client.get(f"/S/{STRANGE}")

    row = UnknownCode.objects.get()
    assert (row.entry, row.problem, row.by) == (STRANGE, "unknown", shop.operator)
    assert not SpindleCheck.objects.exists()


def test_a_good_scan_leaves_no_trace(client, shop, labelled):
    _, code = labelled
    shop.stand_at(client, shop.operator)

    client.get("/scan/", {"entry": code})
    client.get(f"/S/{code}")

    assert not UnknownCode.objects.exists()


def test_after_thirty_in_a_minute_it_waits_for_that_person_only(
    client, shop, labelled, monkeypatch
):
    # All within one minute, whatever the clock does meanwhile.
    monkeypatch.setattr("labels.views.scan._counter", lambda person: f"misses-{person.pk}")
    _, code = labelled
    shop.stand_at(client, shop.operator)

    statuses = [client.get("/S/HELLO").status_code for _ in range(MISSES_A_MINUTE + 1)]

    assert statuses == [404] * MISSES_A_MINUTE + [429]
    assert client.get(f"/S/{code}").status_code == 429
    assert client.get("/scan/?entry=HELLO").status_code == 429
    assert UnknownCode.objects.count() == MISSES_A_MINUTE

    shop.stand_at(client, shop.toolroom)
    assert client.get(f"/S/{code}").status_code == 200


def test_a_scanner_with_another_keyboard_is_asked_about(client, shop, labelled):
    assembly, _ = labelled
    code = _code_with_z(assembly)
    client.force_login(shop.operator)

    page = client.get("/scan/", {"entry": code.replace("Z", "Y"), "scanned": "on"})

    assert page.status_code == 404
    assert (page.context["guess"].layout, page.context["guess"].code) == ("QWERTZ", code)


def _code_with_z(assembly):
    """A label code with one Z; read as Y it fails the check."""
    from labels.models import Label

    code = "0000000ZF"
    Label.objects.filter(build__assembly=assembly).update(code=code)
    return code


def test_a_label_made_void_stops(client, shop, labelled):
    assembly, code = labelled
    cancel_label(by=shop.toolroom, submission=uuid4(), assembly=assembly, reason="print lost")
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}")

    shown = page.context["verdict"]
    assert (shown.word, shown.reasons[0].code) == ("STOP", "label.void_cancelled")
    assert "print lost" in shown.reasons[0].text


def test_somebody_signed_out_signs_in_and_comes_back_to_the_code(client, shop, labelled):
    _, code = labelled

    asked = client.get(f"/S/{code}")
    back = client.post(asked.url, {"username": shop.operator.username, "password": makers.PASSWORD})

    assert asked.url == f"/sign-in/?next=/S/{code}"
    assert back.url == f"/S/{code}"


def test_nothing_is_logged_for_somebody_signed_out(client, shop):
    assert client.get(f"/S/{STRANGE}").status_code == 302
    assert not UnknownCode.objects.exists()


def test_an_empty_entry_leads_back_to_the_scan_page(client, shop):
    client.force_login(shop.operator)

    assert client.get("/scan/?entry=").url == "/spindle/"
