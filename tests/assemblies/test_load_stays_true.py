"""What the records say of loads, answers and swapped marks is what was said, and nothing else."""

from uuid import uuid4

import pytest
from django.urls import reverse

from assemblies.actions import build, loads
from assemblies.actions.machine_contents import machine_contents
from assemblies.models import AssemblyState, Decision, Edge, Load, Machine, SpindleCheck
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.load_makers import FillingShop, changer, held, out, put
from tests.assemblies.test_loads_fill import Screen
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


def mark_of(assembly):
    return assembly.current_build.parts.get(role="holder").piece.mark


@pytest.fixture
def at_changer():
    """A MATCH at a machine where the pocket is said."""
    scene = made.Scene.ready()
    scene.machine = changer()
    made.approve(scene.revision, scene.machine)
    return scene


# ---- one form, one answer
class Form:
    """One form of one person, sent again and again."""

    def __init__(self, scene):
        self.scene, self.by, self.submission = scene, made.operator(), uuid4()

    def load(self, **answer):
        return self._send(Decision.LOADED, **answer)

    def refuse(self, reason, **answer):
        return self._send(Decision.REFUSED, reason=reason, **answer)

    def _send(self, decision, **answer):
        ask = {"by": self.by, "submission": self.submission, **answer}
        return self.scene.decide(decision, **ask)


def test_the_same_form_for_another_pocket_is_refused(at_changer):
    form = Form(at_changer)
    form.load(pocket=4)

    assert form.load(pocket=4).repeated
    assert made.code_of(form.load, pocket=5) == "check.answered"
    assert made.code_of(form.load, pocket=None) == "check.answered"
    assert held(at_changer.machine) == [(4, at_changer.assembly.number)]


def test_the_same_form_sent_after_it_came_out_again_is_still_the_same_answer(at_changer):
    form = Form(at_changer)
    form.load(pocket=4)
    out(Load.objects.get())

    assert form.load(pocket=4).repeated
    assert held(at_changer.machine) == []


def test_an_answer_that_got_lost_is_sent_again_without_the_number_that_was_keyed_before(at_changer):
    """The number keyed before the scan is forgotten with the answer, which the sender never got."""
    form = Form(at_changer)
    form.load(pocket=4, shown_number=made.TOOL, keyed_first=True)

    assert form.load(pocket=4, shown_number=None).repeated


def test_the_same_form_with_another_mark_is_refused(at_changer):
    first, second = made.released(), made.released()
    form = Form(at_changer)
    form.refuse("mark_differs", mark_there=mark_of(first))

    assert form.refuse("mark_differs", mark_there=f" {mark_of(first)}").repeated
    other = {"reason": "mark_differs", "mark_there": mark_of(second)}
    assert made.code_of(form.refuse, **other) == "check.answered"
    assert made.again(second).state == AssemblyState.RELEASED


def test_the_form_of_one_assembly_answers_for_no_other(at_changer):
    form = Form(at_changer)
    form.load(pocket=4)
    at_changer.assembly = made.released()
    at_changer.label = made.label_of(at_changer.assembly)

    assert made.code_of(form.load, pocket=4) == "check.answered"
    assert SpindleCheck.objects.count() == 1


def test_the_form_that_took_one_tool_out_takes_no_other_out():
    machine, by, once = changer(), made.operator(), uuid4()
    first, second = put(made.started(), machine, 4, 1), put(made.started(), machine, 5, 2)
    out(first, by=by, submission=once)

    assert out(first, by=by, submission=once).repeated
    refused = made.refusal(out, second, by=by, submission=once)
    assert refused.code == "load.answered"
    assert str(first.assembly) in refused.text
    assert held(machine) == [(5, second.assembly.number)]


@pytest.mark.parametrize("act", ["borrow", "put_back"])
def test_the_form_that_moved_one_assembly_moves_no_other(act):
    first, second, by, once = made.started(), made.started(), made.toolroom(), uuid4()
    more = {"place": makers.place()} if act == "put_back" else {}

    def move(assembly):
        return getattr(loads, act)(by=by, submission=once, assembly=assembly, **more)

    move(first)
    assert move(first).repeated
    assert made.code_of(move, second) == "load.answered"


# ---- the list of a changer that is filled
@pytest.fixture
def screen():
    screen = Screen(FillingShop.open(changer(4)))
    screen.scan_tool(1)
    return screen


def lines_come_back(screen, kept):
    """Two tabs of one session: the slower one writes the list as it was before."""
    session = screen.client.session
    session["filling"] = kept
    session.save()


def test_a_line_that_comes_back_after_its_tool_came_out_is_not_said_to_be_recorded(screen):
    kept = screen.client.session["filling"]
    screen.record(t1=1)
    out(Load.objects.get())
    lines_come_back(screen, kept)

    page = screen.record(t1=1)

    assert page.status_code == 200
    assert "came out since" in text_of(page)
    assert "1 tool recorded" not in page.text.split("fill-list")[1]
    assert (held(screen.shop.machine), len(screen.listed())) == ([], 1)


def test_a_line_that_comes_back_while_its_tool_is_in_is_recorded_once(screen):
    kept = screen.client.session["filling"]
    screen.record(t1=1)
    lines_come_back(screen, kept)

    assert screen.record(t1=1).status_code == 302
    assert (Load.objects.count(), screen.listed()) == (1, [])


def sent_for(screen, pocket, shown=1):
    """The page as it was drawn for another pocket, sent now."""
    number = screen.shop.assemblies[1].number
    data = {f"shown_{number}": shown, f"pocket_{number}": pocket}
    return screen.client.post(screen.at("labels:fill_record"), data)


def test_a_page_drawn_before_the_list_changed_elsewhere_records_nothing(screen):
    screen.step("empty")
    screen.step("skip", 1)
    screen.scan_tool(1)
    assert screen.listed() == [(2, 1)]

    page = sent_for(screen, pocket=1)

    assert "changed on another page" in text_of(page)
    assert not Load.objects.exists()
    sent_for(screen, pocket=2)
    assert held(screen.shop.machine) == [(2, screen.shop.assemblies[1].number)]


def test_the_page_sends_along_which_pocket_it_shows(screen):
    page = screen.client.get(screen.at("assemblies:fill_compare")).text
    number = screen.shop.assemblies[1].number

    assert f'<input type="hidden" name="pocket_{number}" value="1">' in page


@pytest.mark.parametrize("change", ["quarantine", "rebuild", "remeasure", "withdraw"])
def test_what_changed_between_scan_and_record_is_not_loaded(screen, change):
    assembly, by = screen.shop.assemblies[1], made.toolroom()
    if change == "quarantine":
        build.quarantine(by=by, submission=uuid4(), assembly=assembly, note="dropped")
    elif change == "rebuild":
        build.start_rebuild(by=by, submission=uuid4(), assembly=assembly, reason="dull")
    elif change == "remeasure":
        made.record(assembly, gauge_length=97_400)
        made.let_go(assembly)
    else:
        made.withdraw(screen.shop.revision, screen.shop.machine)

    assert "Not loaded" in text_of(screen.record(t1=1))
    assert not Load.objects.exists()


# ---- what a machine page says that it holds
def test_a_tool_left_in_a_pocket_is_shown_though_the_machine_has_no_changer_any_more():
    machine = changer()
    load = put(made.started(), machine, 4, 5)
    Machine.objects.filter(pk=machine.pk).update(tool_change="hand")
    machine.refresh_from_db()

    assert [slot.pocket for slot in machine_contents(machine).pockets] == [4]
    address = reverse("assemblies:machine_detail", args=[machine.mark])
    page = signed_in("operator").get(address)
    assert reverse("assemblies:take_out", args=[load.pk]) in page.text
    assert "Fill the changer" not in page.text


def test_its_number_is_still_taken_until_it_comes_out():
    scene = made.Scene.ready()
    machine = changer()
    made.approve(scene.revision, machine)
    load = put(made.released(), machine, 4)
    Machine.objects.filter(pk=machine.pk).update(tool_change="hand")
    scene.machine = machine

    assert scene.codes() == {"machine.number_taken"}
    out(load)
    assert scene.word() == "match"


@pytest.mark.parametrize("out_as", Edge.values)
def test_a_rebuilt_quarantined_or_retired_assembly_still_comes_out(out_as):
    scene = made.Scene.ready()
    load = put(scene.assembly, changer(), 4)
    build.start_rebuild(
        by=made.toolroom(), submission=uuid4(), assembly=scene.assembly, reason="dull"
    )

    out(load, out_as)

    assert Load.objects.get().out_as == out_as


# ---- swapped labels
@pytest.mark.parametrize("state", ["draft", "built", "loaded"])
def test_the_other_assembly_is_quarantined_wherever_it_stands(state):
    scene = made.Scene.ready()
    other = {"draft": made.drafted, "built": made.measured, "loaded": made.released}[state]()
    if state == "loaded":
        put(other, changer(), 4)

    scene.refuse("mark_differs", mark_there=mark_of(other))

    states = {made.again(one).state for one in (scene.assembly, other)}
    assert states == {AssemblyState.QUARANTINED}


@pytest.mark.parametrize("spelled", [str.lower, str.upper, lambda m: m.replace("-", " ")])
def test_the_own_mark_differs_from_nothing_however_it_is_spelled(spelled):
    scene = made.Scene.ready()
    own = spelled(mark_of(scene.assembly))

    code = made.code_of(scene.refuse, "mark_differs", mark_there=own)

    assert code == "check.mark_same"
    assert made.again(scene.assembly).state == AssemblyState.RELEASED


def test_the_mark_of_a_holder_in_no_assembly_leaves_the_others_alone():
    scene, other = made.Scene.ready(), made.released()
    spare = makers.piece(makers.holder_item(), makers.place())

    row = scene.refuse("mark_differs", mark_there=spare.mark)

    assert row.act.details["quarantined"] == [scene.assembly.number]
    assert made.again(other).state == AssemblyState.RELEASED


def test_where_quarantining_the_second_fails_neither_is_and_nothing_is_recorded(monkeypatch):
    from assemblies.actions import mark_differs

    scene, other = made.Scene.ready(), made.released()
    real, seen = mark_differs.quarantine_in_act, []

    def fails_on_the_second(**asked):
        seen.append(asked["assembly"])
        if len(seen) == 2:
            raise mark_differs.Refused("quarantine.power_cut", "No power.")
        real(**asked)

    monkeypatch.setattr(mark_differs, "quarantine_in_act", fails_on_the_second)

    code = made.code_of(scene.refuse, "mark_differs", mark_there=mark_of(other))

    assert code == "quarantine.power_cut"
    assert len(seen) == 2
