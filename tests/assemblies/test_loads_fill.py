"""Filling a changer: scan after scan, then one comparison with the control, then the records."""

from __future__ import annotations

from copy import deepcopy
from uuid import uuid4

import pytest
from django.urls import reverse

from assemblies.actions import build, loads
from assemblies.models import Load, SpindleCheck
from tests import assembly_makers as made
from tests.assemblies.load_makers import FillingShop, changer, held, out, put, slots
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


class Screen:
    """A signed-in browser that stands on the filling page of one machine."""

    def __init__(self, shop: FillingShop, role: str = "operator") -> None:
        self.shop, self.client = shop, signed_in(role)
        self.mark = shop.machine.mark
        self.choose(shop.revision)

    def choose(self, revision) -> None:
        self.client.post(
            reverse("assemblies:station"),
            {"machine": self.shop.machine.mark_key, "revision": revision.pk if revision else ""},
        )

    def at(self, name: str) -> str:
        return reverse(name, args=[self.mark])

    def scan(self, entry: str):
        data = {"entry": entry, "scanned": "on"}
        return self.client.post(self.at("labels:fill_scan"), data, follow=True)

    def scan_tool(self, number: int):
        return self.scan(self.shop.codes[number])

    def page(self):
        return self.client.get(self.at("assemblies:fill"))

    def listed(self) -> list[tuple[int, int]]:
        """(pocket, T) of the tools on the list."""
        return [(line.pocket, line.tool_number) for line in self.page().context["tray"].lines]

    def step(self, step: str, number: int | None = None):
        data = {"step": step} | ({"number": number} if number else {})
        return self.client.post(self.at("assemblies:fill"), data)

    def record(self, **shown):
        """Send what the control shows: `t1=1` for the tool that is scanned as T1."""
        numbers = {int(key[1:]): value for key, value in shown.items()}
        data = {
            f"shown_{self.shop.assemblies[tool].number}": value for tool, value in numbers.items()
        }
        return self.client.post(self.at("labels:fill_record"), data)


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    """A changer where T names the tool, so that the pocket advances by itself."""
    return FillingShop.open(changer(4))


@pytest.fixture
def screen(standing_shop):
    return Screen(deepcopy(standing_shop))


@pytest.fixture
def slot_screen():
    return Screen(FillingShop.open(slots(4)))


# ---- scanning
def test_one_scan_after_another_fills_the_pockets_in_order(screen):
    screen.scan_tool(2)
    answer = screen.scan_tool(1)
    assert screen.listed() == [(1, 2), (2, 1)]
    assert answer.context["next_pocket"] == 3
    assert answer.context["said"] == "match"


def test_where_t_names_the_pocket_the_tool_goes_there(slot_screen):
    slot_screen.scan_tool(2)
    assert slot_screen.listed() == [(2, 2)]


def test_nothing_on_the_list_is_loaded(screen):
    screen.scan_tool(1)
    assert not Load.objects.exists()
    assert not SpindleCheck.objects.exists()
    assert "not compared with the control" in text_of(screen.page())


def test_the_same_label_twice_is_one_line(screen):
    screen.scan_tool(1)
    answer = screen.scan_tool(1)
    assert len(screen.listed()) == 1
    assert answer.context["said"] == "check"


def test_a_pocket_that_holds_a_tool_is_passed_over(screen):
    put(made.started(), screen.shop.machine, 1, tool_number=40)
    screen.scan_tool(1)
    assert screen.listed() == [(2, 1)]


def test_a_pocket_can_be_passed_over_by_hand(screen):
    screen.step("skip", 1)
    screen.scan_tool(1)
    assert screen.listed() == [(2, 1)]


def test_with_no_pocket_free_nothing_is_taken():
    shop = FillingShop.open(changer(1))
    screen = Screen(shop)
    screen.scan_tool(1)
    answer = screen.scan_tool(2)
    assert screen.listed() == [(1, 1)]
    assert "No pocket" in text_of(answer)


def test_a_number_without_a_pocket_is_not_taken():
    screen = Screen(FillingShop.open(slots(1)))
    answer = screen.scan_tool(2)
    assert screen.listed() == []
    assert answer.context["verdict"].word_key == "check"


def test_two_tools_for_one_number_are_not_both_taken(screen):
    screen.scan_tool(1)
    diameter_um = 11_500
    some = made.some_parts(cutter={"diameter_um": diameter_um})
    other = made.released(some, diameter=diameter_um)
    answer = screen.scan(made.label_of(other).code)
    assert screen.listed() == [(1, 1)]
    assert "T1 is on the list already" in text_of(answer)


# ---- what interrupts
@pytest.mark.parametrize("pocket", [3, None])
def test_a_number_that_a_tool_in_the_machine_holds_interrupts(screen, pocket):
    put(made.started(), screen.shop.machine, pocket, tool_number=1)
    assert screen.scan_tool(1).context["verdict"].word_key == "check"
    assert screen.listed() == []


def test_a_pocket_named_by_t_that_holds_a_tool_interrupts(slot_screen):
    put(made.started(), slot_screen.shop.machine, 2, tool_number=None)
    assert slot_screen.scan_tool(2).context["verdict"].word_key == "check"
    assert slot_screen.listed() == []


def interrupts(screen, entry) -> str:
    answer = screen.scan(entry)
    assert screen.listed() == []
    assert not Load.objects.exists()
    return answer.context["verdict"].word_key


def test_a_quarantined_tool_interrupts(screen):
    assembly = screen.shop.assemblies[1]
    build.quarantine(by=made.operator(), submission=uuid4(), assembly=assembly, note="dropped")
    assert interrupts(screen, screen.shop.codes[1]) == "stop"


def test_a_tool_that_the_program_does_not_want_interrupts(screen):
    assembly = made.released(made.some_parts(cutter={"diameter_um": 9_000}), diameter=9_000)
    assert interrupts(screen, made.label_of(assembly).code) == "stop"


@pytest.mark.parametrize("by", ["number", "mark"])
def test_a_tool_that_was_not_scanned_by_its_label_is_not_taken(screen, by):
    assembly = screen.shop.assemblies[1]
    holder = assembly.current_build.parts.get(role="holder").piece
    entry = str(assembly.number) if by == "number" else holder.mark
    assert interrupts(screen, entry) == "check"


def test_an_interruption_leads_to_the_ordinary_check(screen):
    build.quarantine(
        by=made.operator(), submission=uuid4(), assembly=screen.shop.assemblies[1], note="dropped"
    )
    page = screen.scan_tool(1).content.decode()
    assert f'href="/S/{screen.shop.codes[1]}"' in page
    assert f'href="{screen.at("assemblies:fill")}"' in page


def test_a_code_that_is_not_ours_interrupts_and_is_counted(screen):
    assert screen.scan("7K2M9QXR5").status_code == 404
    assert screen.listed() == []


# ---- what the list belongs to
def test_without_a_program_nothing_is_taken(screen):
    screen.choose(None)
    answer = screen.scan_tool(1)
    assert answer.context["tray"] is None
    assert "First choose the program" in text_of(answer)


def test_the_station_of_another_machine_takes_nothing(screen):
    other = changer()
    screen.client.post(
        reverse("assemblies:station"),
        {"machine": other.mark_key, "revision": screen.shop.revision.pk},
    )
    assert screen.scan_tool(1).context["tray"] is None


def test_with_another_program_the_list_is_empty(screen):
    screen.scan_tool(1)
    screen.choose(made.approved(screen.shop.machine))
    assert screen.listed() == []


def test_a_machine_without_a_changer_says_where_its_tools_are_checked():
    shop = FillingShop.open(made.machine(), tools=1)
    assert "This machine has no changer." in text_of(Screen(shop).page())


def test_a_changer_of_unknown_size_says_so():
    shop = FillingShop.open(changer(0), tools=1)
    assert "not recorded" in text_of(Screen(shop).page())


def test_a_tool_is_taken_off_the_list(screen):
    screen.scan_tool(1)
    screen.scan_tool(2)
    screen.step("remove", screen.shop.assemblies[1].number)
    assert screen.listed() == [(2, 2)]


def test_the_list_is_emptied(screen):
    screen.scan_tool(1)
    screen.step("empty")
    assert screen.listed() == []


@pytest.mark.parametrize("rubbish", [{}, {"step": "drop"}, {"step": "remove", "number": "x"}])
def test_a_step_that_is_none_changes_nothing(screen, rubbish):
    screen.scan_tool(1)
    screen.client.post(screen.at("assemblies:fill"), rubbish)
    assert screen.listed() == [(1, 1)]


# ---- comparing and recording
def test_every_number_keyed_right_records_every_tool(screen):
    for tool in (1, 2):
        screen.scan_tool(tool)
    answer = screen.record(t1=1, t2=2)
    assert answer["Location"] == reverse("assemblies:machine_detail", args=[screen.mark])
    numbers = [screen.shop.assemblies[tool].number for tool in (1, 2)]
    assert held(screen.shop.machine) == [(1, numbers[0]), (2, numbers[1])]
    rows = SpindleCheck.objects.order_by("tool_number").values_list(
        "tool_number", "shown_number", "verdict", "decision", "label_code"
    )
    assert list(rows) == [(n, n, "match", "loaded", screen.shop.codes[n]) for n in (1, 2)]
    assert screen.listed() == []


def test_a_wrong_number_keeps_its_tool_on_the_list_and_unloaded(screen):
    for tool in (1, 2):
        screen.scan_tool(tool)
    answer = screen.record(t1=1, t2=7)
    assert [pocket for pocket, _ in held(screen.shop.machine)] == [1]
    assert screen.listed() == [(2, 2)]
    (line,) = answer.context["lines"]
    assert line.refused.code == "control.number_differs"
    assert 'value="7"' in answer.content.decode()


def test_a_line_left_empty_is_not_compared_and_not_loaded(screen):
    for tool in (1, 2):
        screen.scan_tool(tool)
    answer = screen.record(t1=1)
    assert screen.listed() == [(2, 2)]
    assert answer.context["lines"][0].refused.code == "fill.not_compared"


@pytest.mark.parametrize("typed", ["one", "-1", "999999999", "1.5"])
def test_what_is_no_number_records_nothing_at_all(screen, typed):
    for tool in (1, 2):
        screen.scan_tool(tool)
    answer = screen.record(t1=1, t2=typed)
    assert answer.status_code == 200
    assert not Load.objects.exists()
    assert len(screen.listed()) == 2


def test_the_same_form_twice_records_once(screen):
    screen.scan_tool(1)
    screen.record(t1=1)
    screen.record(t1=1)
    assert SpindleCheck.objects.count() == Load.objects.count() == 1


def test_a_tool_quarantined_after_its_scan_is_not_loaded(screen):
    screen.scan_tool(1)
    build.quarantine(
        by=made.operator(), submission=uuid4(), assembly=screen.shop.assemblies[1], note="dropped"
    )
    answer = screen.record(t1=1)
    assert answer.context["lines"][0].refused.code == "check.changed"
    assert not Load.objects.exists()


def test_a_pocket_filled_by_somebody_else_meanwhile_is_refused(screen):
    screen.scan_tool(1)
    put(made.started(), screen.shop.machine, 1, tool_number=40)
    answer = screen.record(t1=1)
    assert answer.context["lines"][0].refused is not None
    assert len(held(screen.shop.machine)) == 1


def test_the_comparison_shows_no_number_beforehand(slot_screen):
    slot_screen.scan_tool(2)
    page = slot_screen.client.get(slot_screen.at("assemblies:fill_compare"))
    (line,) = page.context["lines"]
    assert line.field.value() is None
    assert line.line.holder_mark in text_of(page)


def test_without_a_list_there_is_nothing_to_compare(screen):
    answer = screen.client.get(screen.at("assemblies:fill_compare"))
    assert answer["Location"] == screen.at("assemblies:fill")


def test_twelve_scans_leave_one_list_and_one_page(django_assert_max_num_queries):
    shop = FillingShop.open(slots(12), tools=3)
    screen = Screen(shop)
    for tool in shop.codes:
        screen.scan_tool(tool)
    with django_assert_max_num_queries(6):
        screen.page()
    with django_assert_max_num_queries(30):
        screen.client.post(screen.at("labels:fill_scan"), {"entry": shop.codes[1], "scanned": "on"})


@pytest.mark.parametrize("role", ["programmer", "buyer", "admin"])
def test_filling_is_for_those_who_decide_at_the_spindle(role):
    machine = changer()
    client = signed_in(role)
    for name in ("assemblies:fill", "assemblies:fill_compare"):
        assert client.get(reverse(name, args=[machine.mark])).status_code == 403
    for name in ("labels:fill_scan", "labels:fill_record"):
        assert client.post(reverse(name, args=[machine.mark])).status_code == 403


def test_a_filled_tool_comes_out_as_any_other(screen):
    screen.scan_tool(1)
    screen.record(t1=1)
    out(Load.objects.get(), "good")
    assert loads.free_pockets(screen.shop.machine) == [1, 2, 3, 4]


# ---- a tool that is no match, decided on in between
def test_a_pocket_that_a_listed_tool_goes_to_is_not_offered_as_free(screen):
    screen.scan_tool(1)
    page = screen.client.get(f"/S/{screen.shop.codes[2]}")
    assert page.context["places"].next_free == 2


def test_after_a_decision_in_between_the_page_leads_back_to_filling(screen):
    load = put(made.started(), screen.shop.machine, 4, tool_number=40)
    recorded = reverse("assemblies:spindle_recorded", args=[load.spindle_check_id])
    back = f'href="{screen.at("assemblies:fill")}"'
    assert back not in screen.client.get(recorded).content.decode()
    screen.scan_tool(1)
    assert back in screen.client.get(recorded).content.decode()
