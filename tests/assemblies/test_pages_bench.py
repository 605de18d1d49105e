"""The bench: parts in and out, live findings, purpose, stud, building, measuring, releasing."""

from __future__ import annotations

import re
from copy import deepcopy
from dataclasses import dataclass
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from assemblies.actions.build import start_assembly, start_rebuild
from assemblies.models import Assembly, Build, Measurement
from crib.models import Act, Instrument, Item, Piece, SleeveFacts
from tests import makers
from tests.assemblies import spindle_shop
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


def url(name, number):
    return reverse(f"assemblies:{name}", args=[number])


@dataclass
class Bench:
    """A toolroom person's browser at one draft, with parts in the rack."""

    client: Client
    assembly: Assembly
    holder: Piece
    collet: Piece
    nut: Item
    cutter: Item

    @property
    def build(self) -> Build:
        return self.assembly.builds.get(live=True)

    def address(self, name: str) -> str:
        return url(name, self.assembly.number)

    def page(self):
        return self.client.get(self.address("bench"))

    def send(self, name: str, **typed):
        typed.setdefault("submission", uuid4())
        return self.client.post(self.address(name), typed)

    def put(self, *entries: str):
        answers = [self.send("bench_put", entry=entry) for entry in entries]
        return answers[-1]

    def put_all(self):
        return self.put(self.holder.mark, self.collet.mark, self.nut.code, self.cutter.code)

    def make(self, **typed):
        figures = {"stickout_um": "45", "grip_um": "36", "torque_mnm": "136"}
        ids = {"submission": uuid4(), "build-submission": uuid4()}
        return self.send("bench_make", **figures | ids | typed)

    def measure(self, **typed):
        readings = {"gauge_length": "95", "diameter": "12", "runout": "0.008"}
        return self.send("measure", **readings | typed)


def bench_at(rack, client, cutter=None, collet=None, **holder) -> Bench:
    """A bench with its parts in `rack`; `cutter` and `collet` are facts of those two parts."""
    number = start_assembly(by=client.person, submission=uuid4()).result
    return Bench(
        client,
        Assembly.objects.get(number=number),
        makers.piece(makers.holder_item(), rack, **holder),
        makers.piece(makers.collet_item(**collet or {}), rack),
        makers.stocked(makers.nut_item(), rack),
        makers.stocked(makers.cutter_item(**cutter or {}), rack),
    )


@pytest.fixture(scope="module")
def standing_rack(module_rows):
    return makers.place("RACK B3")


@pytest.fixture(scope="module")
def standing_bench(standing_rack):
    return bench_at(standing_rack, signed_in("toolroom"))


@pytest.fixture
def rack(standing_rack):
    return deepcopy(standing_rack)


@pytest.fixture
def at_bench(rack):
    """Make another bench: `at_bench(cutter={"seats": 4})`."""
    return lambda **facts: bench_at(rack, signed_in("toolroom"), **facts)


@pytest.fixture
def bench(standing_bench):
    return deepcopy(standing_bench)


def codes(answer, key="findings"):
    return {finding.code for finding in answer.context[key]}


# ---- parts
def test_parts_go_in_by_mark_and_by_item_code_in_any_order(bench):
    bench.put(bench.cutter.code, bench.nut.code.lower(), f" {bench.collet.mark} ")
    bench.put(bench.holder.mark)
    assert set(bench.build.parts.values_list("role", flat=True)) == {
        "holder",
        "collet",
        "nut",
        "cutter",
    }


@pytest.mark.parametrize("entry", ["", "NO-SUCH-PART", "x" * 41, "<script>"])
def test_an_entry_that_names_no_part_is_refused_at_its_field(bench, entry):
    answer = bench.put(entry)
    assert answer.status_code == 422
    assert list(answer.context["put_form"].errors) == ["entry"]
    assert not bench.build.parts.exists()


def test_a_refused_entry_does_not_stand_in_the_way_of_the_next_scan(bench):
    page = bench.put("NO-SUCH-PART").content.decode()
    assert "NO-SUCH-PART" in page
    assert 'value="NO-SUCH-PART"' not in page


def test_an_entry_sent_twice_takes_one_part(bench, rack):
    number = uuid4()
    for _ in range(2):
        answer = bench.send("bench_put", entry=bench.nut.code, submission=number)
    assert answer.status_code == 302
    assert bench.build.parts.count() == 1
    assert Act.objects.filter(kind="build.put").count() == 1


def test_a_wrong_collet_shows_the_stop_with_numbers_and_remedy_at_once(at_bench):
    bench = at_bench(collet={"clamp_max_um": 6_000, "clamp_min_um": 5_000})
    bench.put(bench.holder.mark, bench.cutter.code, bench.collet.mark)
    page = bench.page()
    tray = {one.slot.role: one.stops for one in page.context["tray"]}
    assert {finding.code for finding in tray["collet"]} == {"collet.shank_too_large"}
    stop = tray["collet"][0]
    assert (stop.measured, stop.limit) == (12.0, 6.0)
    assert stop.remedy in text_of(page).replace("&#x27;", "'")


def test_the_tray_offers_the_fitting_parts_as_buttons_and_the_rest_in_a_list(bench, rack):
    other = makers.piece(makers.collet_item(6_000, 5_000), rack)
    bench.put(bench.holder.mark, bench.cutter.code)
    slot = next(one.slot for one in bench.page().context["tray"] if one.slot.role == "collet")
    assert [choice.entry for choice in slot.buttons] == [bench.collet.mark]
    assert [choice.entry for choice in slot.listed] == [other.mark]


def test_an_item_without_facts_is_offered_but_never_as_fitting(bench, rack):
    bare = makers.stocked(makers.item("nut"), rack)
    bench.put(bench.holder.mark)
    slot = next(one.slot for one in bench.page().context["tray"] if one.slot.role == "nut")
    assert {choice.entry: choice.likely for choice in slot.choices}[bare.code] is False


def slot(page, role):
    return next(one.slot for one in page.context["tray"] if one.slot.role == role)


def test_a_loose_collet_is_picked_by_series_and_size(bench, rack):
    for series, largest in (("ER32", 7), ("ER32", 16), ("ER25", 7)):
        item = makers.collet_item(largest * 1000, (largest - 1) * 1000, series=series)
        makers.stocked(item, rack, 3)
    sizes = slot(bench.page(), "collet").sizes
    assert [(group.series, group.is_open) for group in sizes] == [("ER25", False), ("ER32", False)]
    bench.put(bench.holder.mark)
    sizes = slot(bench.page(), "collet").sizes
    assert [(group.series, group.is_open) for group in sizes] == [("ER25", False), ("ER32", True)]
    assert [choice.range for choice in sizes[1].choices] == ["7–6", "16–15"]
    bench.send("bench_put", entry="", pick=sizes[1].choices[0].entry)
    assert bench.build.parts.get(role="collet").item.code == sizes[1].choices[0].entry


def test_a_size_that_does_not_go_with_the_cutter_says_so(bench, rack):
    right = makers.stocked(makers.collet_item(), rack)
    wrong = makers.stocked(makers.collet_item(7_000, 6_000), rack)
    bench.put(bench.holder.mark, bench.cutter.code)
    page = bench.page()
    found = slot(page, "collet")
    assert right.code in {choice.entry for choice in found.buttons}
    assert [(c.entry, c.likely) for c in found.sizes[0].choices] == [(wrong.code, False)]
    assert "does not go" in text_of(page)


def chuck(rack, clamping="hydraulic", **facts):
    given = {"collet_series": "", "nose_thread": "", "bore_um": 20_000, "clamping": clamping}
    return makers.piece(makers.holder_item(**given | facts), rack)


def sleeve(rack, bore_um=12_000, **facts):
    item = makers.item("sleeve")
    given = {"outer_um": 20_000, "bore_um": bore_um, "suits": "hydraulic"}
    SleeveFacts.objects.create(item=item, **given | facts)
    return makers.stocked(item, rack)


def test_a_sleeve_is_offered_only_where_the_holder_takes_one_and_only_one_that_suits(bench, rack):
    right, small = sleeve(rack), sleeve(rack, bore_um=10_000)
    sleeve(rack, outer_um=25_000)
    sleeve(rack, suits="milling_chuck")
    assert "sleeve" not in {one.slot.role for one in bench.page().context["tray"]}
    bench.put(bench.holder.mark)
    assert "sleeve" not in {one.slot.role for one in bench.page().context["tray"]}
    bench.put(chuck(rack).mark)
    page = bench.page()
    assert {choice.entry for choice in slot(page, "sleeve").choices} == {right.code, small.code}
    assert not any(one.is_next for one in page.context["tray"] if one.slot.role == "sleeve")
    bench.put(right.code)
    assert bench.build.parts.get(role="sleeve").item == right


@pytest.mark.parametrize("clamping", ["shrink", "hydraulic", "side_lock", "drill_chuck", "tap"])
def test_a_holder_with_its_own_way_of_holding_asks_for_neither_collet_nor_nut(
    bench, rack, clamping
):
    bench.put(chuck(rack, clamping).mark)
    used = {one.slot.role: one.slot.used for one in bench.page().context["tray"]}
    assert (used["collet"], used["nut"], used["cutter"]) == (False, False, True)


def test_a_holder_without_a_collet_asks_for_none(at_bench, rack):
    bench = at_bench()
    arbor = makers.piece(
        makers.holder_item(clamping="arbor", collet_series="", nose_thread="", bore_um=22_000),
        rack,
    )
    bench.put(arbor.mark)
    used = {one.slot.role: one.slot.used for one in bench.page().context["tray"]}
    assert (used["collet"], used["nut"], used["cutter"]) == (False, False, True)


def test_inserts_have_a_slot_only_where_the_cutter_has_seats(at_bench, rack):
    insert = makers.stocked(makers.item("insert"), rack, 8)
    bench = at_bench(cutter={"seats": 4})
    roles = [one.slot.role for one in bench.page().context["tray"]]
    assert "insert" not in roles
    bench.put(bench.cutter.code, insert.code)
    assert bench.build.parts.get(role="insert").quantity == 4


def test_a_part_comes_out_to_its_drawer_or_to_quarantine_with_a_reason(bench):
    bench.put_all()
    page = bench.client.get(bench.address("bench_take_out"), {"role": "collet"})
    assert page.context["form"]["role"].value() == "collet"
    answer = bench.send("bench_take_out", role="collet", goes_to="quarantine")
    assert list(answer.context["form"].errors) == ["note"]
    bench.send("bench_take_out", role="collet", goes_to="regrind", note="dull")
    assert bench.build.parts.filter(role="collet").exists(), "a collet is not sharpened again"
    bench.send("bench_take_out", role="collet", goes_to="quarantine", note="cracked")
    bench.collet.refresh_from_db()
    assert bench.collet.condition == "quarantined"
    assert not bench.build.parts.filter(role="collet").exists()


def test_taking_out_what_is_not_in_is_refused(bench):
    answer = bench.send("bench_take_out", role="collet", goes_to="fit")
    assert answer.context["form"].errors


# ---- the page
def test_no_two_fields_of_the_bench_share_an_id(bench):
    bench.put_all()
    ids = re.findall(r'\sid="([^"]+)"', bench.page().content.decode())
    assert sorted(ids) == sorted(set(ids))


def test_the_bench_has_one_time_numbers_of_its_own_at_each_look(bench):
    bench.put_all()
    pages = [bench.page().content.decode() for _ in range(2)]
    numbers = [re.findall(r'submission" value="([0-9a-f-]{36})"', page) for page in pages]
    assert [len(found) for found in numbers] == [2, 2]
    assert len(set(numbers[0] + numbers[1])) == 4


def test_all_that_can_be_typed_at_the_bench_is_sent_with_every_step(bench):
    """Without scripts a field outside the form of the pressed button would be lost."""
    bench.put(bench.holder.mark)
    page = bench.page().content.decode().split("<main")[1]
    (form,) = re.findall(r"<form.*?</form>", page, re.DOTALL)
    assert form.count('name="entry"') == 1, "the scanner's script looks for one field"
    names = set(re.findall(r'name="([\w-]+)"', form))
    assert names >= {"entry", "stickout_um", "grip_um", "torque_mnm", "wrench_mark", "meant_for"}
    steps = ("bench_put", "bench_figures", "bench_purpose", "bench_make", "stud")
    assert [step for step in steps if f'action="{bench.address(step)}"' not in form] == []
    first = re.search(r"<button[^>]*>", form)[0]
    assert "formaction" not in first, "Enter puts in what was scanned"


TYPED = {"stickout_um": "45", "grip_um": "36", "torque_mnm": "136", "wrench_mark": "W-1"}


def figures_of(build):
    return build.stickout_um, build.grip_um, build.torque_mnm, build.wrench_mark


@pytest.mark.parametrize(
    ("step", "pressed"),
    [
        ("bench_put", {"entry": "{collet}"}),
        ("bench_put", {"pick": "{collet}", "entry": ""}),
        ("bench_put", {"from_list": "collet", "listed-collet": "{collet}", "entry": ""}),
        ("bench_put", {"entry": ""}),
        ("bench_put", {"entry": "NO-SUCH-PART"}),
        ("bench_purpose", {"meant_for": ""}),
        ("bench_figures", {"take_out": "holder"}),
        ("stud", {"stud_state": "fitted", "stud_pattern": "B"}),
    ],
)
def test_figures_typed_but_not_kept_outlive_every_other_step(bench, step, pressed):
    bench.put(bench.holder.mark)
    pressed = {name: text.format(collet=bench.collet.mark) for name, text in pressed.items()}
    bench.send(step, **TYPED | pressed)
    assert figures_of(bench.build) == (45_000, 36_000, 136_000, "W-1")


@pytest.mark.parametrize("pressed", [{"from_list": "nut", "listed-nut": ""}, {"pick": ""}])
def test_a_list_that_nothing_was_picked_from_is_refused(bench, pressed):
    answer = bench.send("bench_put", entry="", **pressed)
    assert list(answer.context["put_form"].errors) == ["entry"]


@pytest.mark.parametrize("how", ["pick", "listed-nut"])
def test_a_part_picked_on_its_slot_goes_in_whatever_stands_in_the_scan_field(bench, how):
    pressed = {"from_list": "nut"} if how == "listed-nut" else {}
    bench.send("bench_put", **{how: bench.nut.code, "entry": "NO-SUCH-PART"}, **pressed)
    assert bench.build.parts.get().item == bench.nut


def test_taking_out_leads_to_its_page_with_the_part_named(bench):
    bench.put_all()
    answer = bench.send("bench_figures", **TYPED, take_out="collet")
    assert answer["Location"] == bench.address("bench_take_out") + "?role=collet"
    assert bench.build.parts.filter(role="collet").exists()


def test_a_figure_that_cannot_be_read_does_not_hold_a_part_up_and_stays_on_the_page(bench):
    answer = bench.send("bench_put", entry=bench.collet.mark, **TYPED | {"grip_um": "36 or so"})
    assert answer.status_code == 422
    assert list(answer.context["figures_form"].errors) == ["grip_um"]
    assert 'value="36 or so"' in answer.content.decode()
    assert bench.build.parts.get().piece == bench.collet
    assert bench.build.stickout_um is None


def test_the_same_step_sent_twice_with_its_figures_counts_once(bench):
    number = uuid4()
    for _ in range(2):
        answer = bench.send("bench_put", entry=bench.nut.code, submission=number, **TYPED)
    assert answer.status_code == 302
    assert Act.objects.filter(kind="build.put").count() == 1
    assert Act.objects.filter(kind="build.figures").count() == 1


def test_a_filled_slot_is_folded_and_only_the_next_empty_one_is_open(bench):
    bench.put(bench.holder.mark)
    answer = bench.page()
    assert [one.slot.role for one in answer.context["tray"] if one.is_next] == ["collet"]
    tray = answer.content.decode().split('<ol class="grid tray">')[1].split("</ol>")[0]
    assert tray.count("<details open>") == 1


def test_the_way_to_the_figures_is_shown_once_every_part_is_in(bench):
    bench.put(bench.holder.mark, bench.collet.mark, bench.nut.code)
    assert 'href="#figures"' not in bench.page().content.decode()
    bench.put(bench.cutter.code)
    assert 'href="#figures"' in bench.page().content.decode()


def test_cautions_and_steps_stand_above_the_button_that_builds(bench):
    page = bench.page().content.decode()
    places = [page.index(words) for words in ("steps of a build", "Before you tighten")]
    assert max(places) < page.index("It is tight: build it")


def test_the_bench_has_one_scan_field_and_it_takes_parts(bench):
    page = bench.page().content.decode()
    forms = re.findall(r"<form[^>]*data-scan[^>]*>", page)
    assert len(forms) == 1
    assert bench.address("bench_put") in forms[0]


#: One look at the bench, whatever lies in the racks.
QUERIES = 19


def test_the_bench_asks_as_often_for_a_full_rack_as_for_an_empty_one(
    bench, rack, django_assert_num_queries
):
    bench.put_all()
    with django_assert_num_queries(QUERIES):
        bench.page()
    for number in range(12):
        makers.stocked(makers.cutter_item(), rack)
        makers.piece(makers.collet_item(), rack, mark=f"C-{number}")
    with django_assert_num_queries(QUERIES):
        bench.page()


def test_a_bench_of_a_made_build_leads_to_the_assembly(bench):
    bench.put_all()
    bench.make()
    assert bench.page()["Location"] == bench.address("assembly_detail")
    answer = bench.send("bench_figures", stickout_um="50")
    assert answer["Location"] == bench.address("assembly_detail")
    assert bench.build.stickout_um == 45_000


def test_other_roles_do_not_get_to_the_bench(bench):
    for role in ("operator", "programmer", "buyer", "lead"):
        client = signed_in(role)
        assert client.get(bench.address("bench")).status_code == 403
        assert client.get(bench.address("bench_findings")).status_code == 403
        for name in ("bench_put", "bench_figures", "bench_purpose", "bench_make", "stud"):
            answer = client.post(bench.address(name), {"submission": uuid4()})
            assert answer.status_code == 403, name


# ---- figures and live findings
def test_findings_answer_what_is_typed_and_write_nothing(bench):
    bench.put_all()
    before = Act.objects.count()
    answer = bench.client.get(
        bench.address("bench_findings"), {"stickout_um": "45", "grip_um": "20"}
    )
    stops = {f.code: f for f in answer.context["findings"] if f.level.is_stop}
    assert [code.split(".")[0] for code in stops] == ["grip"]
    assert "stick-out 45.0 mm, grip 20.0 mm, torque not entered" in text_of(answer)
    assert (bench.build.grip_um, Act.objects.count()) == (None, before)


def test_what_is_not_known_is_folded_only_until_holder_and_cutter_are_in(bench):
    def levels():
        context = bench.page().context
        return [{str(f.level) for f in context[name]} for name in ("findings", "waiting")]

    bench.put(bench.collet.mark)
    assert levels() == [set(), {"unknown"}]
    page = bench.page()
    assert "not known until holder and cutter are in" in text_of(page)
    assert "Nothing has been checked yet." not in text_of(page)
    assert page.context["doubtful"], "what is folded is still counted at the head"
    bench.put(bench.holder.mark, bench.cutter.code)
    assert levels()[1] == set()
    assert "unknown" in levels()[0]


def test_a_figure_that_cannot_be_read_is_said_and_counts_as_not_entered(bench):
    bench.put_all()
    answer = bench.client.get(
        bench.address("bench_findings"), {"stickout_um": "H-07", "grip_um": "36"}
    )
    assert "is not a length" in text_of(answer)
    assert "stick-out not entered" in text_of(answer)


def test_findings_of_a_made_build_are_no_pass(bench):
    bench.put_all()
    bench.make()
    answer = bench.client.get(bench.address("bench_findings"), {"stickout_um": "45"})
    assert "Nothing has been checked yet." in text_of(answer)


def test_figures_are_kept_in_millimetres_and_in_inches(bench):
    bench.send("bench_figures", stickout_um="1 3/4 in", grip_um="36,5", torque_mnm="80")
    build = bench.build
    assert (build.stickout_um, build.grip_um, build.torque_mnm) == (44_450, 36_500, 80_000)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("stickout_um", "C-06"),
        ("stickout_um", "-4"),
        ("grip_um", "0"),
        ("grip_um", "1e9"),
        ("torque_mnm", "2001"),
        ("torque_mnm", "80 kg"),
        ("wrench_mark", "W" * 21),
    ],
)
def test_a_bad_figure_names_its_field_and_writes_nothing(bench, field, text):
    answer = bench.send("bench_figures", **{"stickout_um": "45", field: text})
    assert answer.status_code == 422
    assert list(answer.context["figures_form"].errors) == [field]
    assert bench.build.stickout_um is None


def test_the_figures_before_stand_beside_and_are_not_filled_in(bench):
    bench.put_all()
    bench.make(wrench_mark="W-1")
    start_rebuild(
        by=bench.client.person, submission=uuid4(), assembly=bench.assembly, reason="dull"
    )
    form = bench.page().context["figures_form"]
    assert form["stickout_um"].help_text == "r1: 45.0 mm"
    assert form["torque_mnm"].help_text == "r1: 136 N·m"
    assert form["wrench_mark"].help_text == "r1: W-1"
    assert {form[name].value() for name in ("stickout_um", "grip_um", "torque_mnm")} == {None}


# ---- torque and wrench
def wrench(mark="W-7", **facts):
    given = {"kind": "wrench", "reach_um": 400_000, "torque_min_mnm": 20_000}
    return Instrument.objects.create(mark=mark, **given | {"torque_max_mnm": 200_000} | facts)


def test_the_usual_torque_is_named_with_its_spread_once_nut_and_cutter_are_in(bench):
    assert bench.page().context["torque"].lines == ()
    bench.put_all()
    lines = bench.page().context["torque"].lines
    assert lines[0].startswith("Tighten the nut to 136 N·m")
    assert any("122 to 149" in line for line in lines)


@pytest.mark.parametrize("how", ["scan", "tap", "type"])
def test_a_wrench_on_record_is_scanned_tapped_or_typed_and_tied_to_the_build(bench, how):
    held = wrench()
    bench.put(bench.holder.mark)
    if how == "scan":
        answer = bench.send("bench_put", entry="w-7", **TYPED | {"wrench_mark": ""})
    elif how == "tap":
        answer = bench.send("bench_figures", with_wrench="W-7", **TYPED)
    else:
        answer = bench.send("bench_figures", **TYPED | {"wrench_mark": "w-7 "})
    assert answer.status_code == 302
    build = bench.build
    assert (build.wrench, build.wrench_mark) == (held, "W-7")
    assert (build.stickout_um, build.torque_mnm) == (45_000, 136_000)


def test_a_wrench_that_is_not_on_record_stays_as_words(bench):
    bench.send("bench_figures", **TYPED)
    assert (bench.build.wrench, bench.build.wrench_mark) == (None, "W-1")


@pytest.mark.parametrize(
    ("facts", "code"),
    [({"kind": "caliper"}, "caliper"), ({"is_retired": True}, "out of use")],
)
@pytest.mark.parametrize("step", ["bench_figures", "bench_put"])
def test_another_instrument_or_one_out_of_use_is_refused_as_wrench(bench, facts, code, step):
    wrench(**facts)
    sent = {"entry": "W-7"} if step == "bench_put" else {"wrench_mark": "W-7"}
    answer = bench.send(step, **sent)
    assert answer.status_code == 422
    assert code in text_of(answer)
    assert bench.build.wrench is None


def test_a_spare_with_the_same_mark_as_a_wrench_does_not_hide_it(bench, rack):
    held = wrench()
    makers.piece(makers.item("spare"), rack, mark="W-7")
    bench.put("W-7")
    assert bench.build.wrench == held


def test_the_wrenches_on_record_are_offered_with_their_range_and_never_a_retired_one(bench):
    wrench()
    wrench("W-8", is_retired=True)
    wrench("M-1", kind="micrometer")
    page = bench.page()
    assert [(one.mark, one.span) for one in page.context["wrenches"]] == [("W-7", "20–200 N·m")]


@pytest.mark.parametrize(
    ("largest_mnm", "misses"), [(135_999, True), (136_000, False), (None, False)]
)
def test_a_wrench_that_does_not_reach_the_torque_says_so_on_its_button(bench, largest_mnm, misses):
    wrench(torque_max_mnm=largest_mnm)
    assert [one.is_out_of_range for one in bench.page().context["wrenches"]] == [False]
    bench.put_all()
    assert [one.is_out_of_range for one in bench.page().context["wrenches"]] == [misses]


def test_what_to_dial_in_with_an_adapter_is_shown_while_typing(bench):
    """136 N·m * 400 / (400 + 50), rounded down to 0.1: worked by hand, 120.8."""
    wrench()
    bench.put_all()
    typed = {"wrench_mark": "W-7", "adapter_um": "50"}
    answer = bench.client.get(bench.address("bench_findings"), typed)
    assert answer.context["torque"].setting_mnm == 120_800
    page = bench.client.get(bench.address("bench_findings"), typed, headers={"HX-Request": "true"})
    assert "Dial in 120.8 N·m on W-7" in text_of(page)
    assert bench.build.adapter_um is None
    bench.send("bench_figures", stickout_um="45", **typed)
    assert bench.build.adapter_um == 50_000
    assert "dial in 120.8 N·m" in text_of(bench.page())


def test_an_adapter_without_a_known_reach_has_no_setting_and_says_so(bench):
    wrench(reach_um=None)
    bench.put_all()
    typed = {"wrench_mark": "W-7", "adapter_um": "50"}
    torque = bench.client.get(bench.address("bench_findings"), typed).context["torque"]
    assert torque.setting_mnm is None
    assert "reach of W-7 is missing" in torque.lines[-1]


def test_the_calibration_of_the_wrench_is_part_of_what_the_rules_say(bench):
    wrench()
    bench.put_all()
    bench.send("bench_figures", **TYPED | {"wrench_mark": "W-7"})
    subjects = {code.split(".")[0] for code in codes(bench.page(), "all_findings")}
    assert subjects & {"instrument", "wrench"}


@pytest.mark.parametrize(
    ("clamping", "label"), [("side_lock", "Screw torque"), ("shrink", None), ("tap", None)]
)
def test_the_torque_asked_for_is_that_of_the_holder_in_hand(bench, rack, clamping, label):
    bench.put(chuck(rack, clamping).mark)
    form = bench.page().context["figures_form"]
    assert (form.fields["torque_mnm"].label if label else None) == label
    assert ("torque_mnm" in form.fields, "grip_um" in form.fields) == (label is not None, True)
    assert bench.send("bench_figures", **TYPED).status_code == 302
    assert bench.build.torque_mnm == (136_000 if label else None)


def test_an_arbor_asks_for_no_grip(bench, rack):
    bench.put(chuck(rack, "arbor").mark)
    assert "grip_um" not in bench.page().context["figures_form"].fields


def test_the_steps_are_those_of_the_holder_and_stand_open_once_all_parts_are_in(bench):
    assert bench.page().context["steps"][0].key == "general_1"
    bench.put_all()
    page = bench.page()
    said = {step.key: step.text for step in page.context["steps"]}
    assert "at least 26.7 mm" in said["insert"]
    assert "136 N·m" in said["torque"]
    assert '<details class="cautions" id="steps" open>' in page.content.decode()


# ---- purpose
@pytest.mark.parametrize(("said", "kept"), [("yes", True), ("no", False), ("", None)])
def test_coolant_through_the_tool_is_said_or_left_open(bench, said, kept):
    bench.send("bench_purpose", meant_for="", coolant_wanted="yes")
    bench.send("bench_purpose", meant_for="", coolant_wanted=said)
    assert bench.build.coolant_wanted is kept
    assert bench.page().context["purpose_form"]["coolant_wanted"].value() == said


def test_an_answer_about_coolant_that_is_none_is_refused(bench):
    answer = bench.send("bench_purpose", meant_for="", coolant_wanted="perhaps")
    assert list(answer.context["purpose_form"].errors) == ["coolant_wanted"]


def purpose_of(bench, tool_number=5):
    revision = spindle_shop.program_revision(makers.person("programmer"))
    wanted = revision.requirements.get(tool_number=tool_number)
    return bench.send("bench_purpose", meant_for=wanted.pk), wanted


def test_a_left_hand_cutter_for_a_program_turning_right_is_a_hard_stop(at_bench):
    bench = at_bench(cutter={"hand": "left"})
    bench.put_all()
    assert "rotation.program_differs" not in codes(bench.page())
    purpose_of(bench)
    page = bench.page()
    stop = next(f for f in page.context["findings"] if f.code == "rotation.program_differs")
    assert str(stop.level) == "stop_hard"
    answer = bench.make(**{"build-reason": "it will do"})
    assert answer.status_code == 422
    assert bench.build.is_draft


def test_a_program_faster_than_the_cutter_is_a_hard_stop_on_the_bench(at_bench):
    bench = at_bench(cutter={"n_max_rpm": 17_999})
    bench.put_all()
    purpose_of(bench)
    stops = {f.code for f in bench.page().context["findings"] if f.level.is_stop}
    assert len(stops) == 1
    assert next(iter(stops)).startswith("speed.")


def test_a_purpose_shows_what_the_tool_number_must_be(bench):
    _, wanted = purpose_of(bench)
    spindle_shop.confirm(makers.person("programmer"), wanted.revision, 5, spindle_shop.WANTED)
    page = text_of(bench.page())
    assert "compression spiral, Ø 12.00 ±0.05, right-hand, gauge length 95.0 ±1.0" in page


def test_a_purpose_is_taken_back_and_a_wrong_one_refused(bench):
    purpose_of(bench)
    bench.send("bench_purpose", meant_for="")
    assert bench.build.meant_for is None
    answer = bench.send("bench_purpose", meant_for="99999")
    assert list(answer.context["purpose_form"].errors) == ["meant_for"]


def test_an_older_revision_is_offered_only_where_it_is_approved(bench):
    programmer, lead = makers.person("programmer"), makers.person("lead")
    old = spindle_shop.program_revision(programmer, label="A")
    new = spindle_shop.program_revision(programmer, label="B", speed=15_000)

    def offered():
        rows = bench.page().context["purpose_form"].fields["meant_for"].queryset
        return {row.revision_id for row in rows}

    assert offered() == {new.pk}
    machine = spindle_shop.router(lead)
    spindle_shop.approve(lead, old, machine, reason="runs since May")
    assert offered() == {old.pk, new.pk}


# ---- stud
def test_the_stud_is_recorded_from_the_bench_and_asked_for_without_one(at_bench):
    bench = at_bench(stud_state="unknown", stud_pattern="")
    assert bench.page().context["stud_form"] is None
    bench.put(bench.holder.mark)
    assert bench.page().context["stud_form"]["stud_state"].value() == "unknown"
    answer = bench.send("stud", stud_state="fitted", stud_pattern="")
    assert list(answer.context["stud_form"].errors) == ["stud_pattern"]
    bench.send("stud", stud_state="fitted", stud_pattern="B")
    bench.holder.refresh_from_db()
    assert (bench.holder.stud_state, bench.holder.stud_pattern) == ("fitted", "B")


def test_a_stud_without_a_holder_is_refused(bench):
    assert bench.send("stud", stud_state="fitted", stud_pattern="B").status_code == 422


# ---- building
def test_a_build_keeps_the_figures_on_the_screen(bench):
    bench.put_all()
    bench.send("bench_figures", stickout_um="40", grip_um="36", torque_mnm="136")
    answer = bench.make(stickout_um="45.5")
    assert answer["Location"] == bench.address("measure")
    build = bench.build
    assert (build.revision, build.stickout_um, build.grip_um) == (1, 45_500, 36_000)


def test_a_build_sent_twice_is_one_build(bench):
    bench.put_all()
    ids = {"submission": uuid4(), "build-submission": uuid4()}
    first, second = bench.make(**ids), bench.make(**ids)
    assert first["Location"] == second["Location"] == bench.address("measure")
    assert Act.objects.filter(kind="build.make").count() == 1
    assert bench.build.revision == 1


def test_an_old_page_with_other_figures_builds_nothing(bench):
    bench.put_all()
    number = uuid4()
    bench.send("bench_figures", stickout_um="45", grip_um="36", submission=number)
    answer = bench.make(submission=number, stickout_um="60")
    assert answer.status_code == 422
    assert bench.build.is_draft


def test_a_figure_that_cannot_be_read_builds_nothing(bench):
    bench.put_all()
    answer = bench.make(grip_um="thirty-six")
    assert list(answer.context["figures_form"].errors) == ["grip_um"]
    assert bench.build.is_draft


def test_a_doubt_needs_a_reason_and_keeps_it(at_bench):
    bench = at_bench(collet={"clamp_max_um": 13_000, "clamp_min_um": 12_000})
    bench.put_all()
    answer = bench.make()
    assert list(answer.context["build_form"].errors) == ["reason"]
    assert bench.build.is_draft
    bench.make(**{"build-reason": "no 12-11 left"})
    assert bench.build.accepted_reason == "no 12-11 left"


def test_a_shank_larger_than_the_collet_cannot_be_built_with_any_reason(at_bench):
    bench = at_bench(
        cutter={"diameter_um": 6_350, "shank_um": 6_350},
        collet={"clamp_max_um": 6_000, "clamp_min_um": 5_000},
    )
    bench.put_all()
    answer = bench.make(**{"build-reason": "it went in"})
    assert answer.status_code == 422
    assert "collet.shank_too_large" in {
        finding.code for finding in answer.context["build_form"].findings
    }
    assert "6.35" in text_of(answer)
    assert bench.build.is_draft


def test_an_empty_draft_is_not_built_without_a_word(bench):
    answer = bench.make()
    assert answer.status_code == 422
    assert bench.build.is_draft


# ---- measuring
@pytest.fixture
def built(bench):
    bench.put_all()
    bench.make()
    return bench


def test_readings_are_added_and_lead_to_the_release(built):
    answer = built.measure(runout_distance="30", instrument="D-2")
    assert answer["Location"] == built.address("release")
    rows = {row.quantity: row for row in Measurement.objects.all()}
    assert (rows["gauge_length"].value_um, rows["runout"].distance_um) == (95_000, 30_000)


def test_readings_sent_twice_are_added_once(built):
    number = uuid4()
    built.measure(submission=number)
    built.measure(submission=number)
    assert Measurement.objects.count() == 3


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("gauge_length", {"gauge_length": "0"}),
        ("gauge_length", {"gauge_length": "7K2M9QXR4"}),
        ("diameter", {"diameter": "-1"}),
        ("runout", {"runout": "a little"}),
        ("runout", {"runout": "", "runout_distance": "30"}),
        ("__all__", {"gauge_length": "", "diameter": "", "runout": ""}),
        ("instrument", {"instrument": "D" * 41}),
    ],
)
def test_a_bad_reading_names_its_field_and_nothing_is_added(built, field, typed):
    answer = built.measure(**typed)
    assert list(answer.context["form"].errors) == [field]
    assert not Measurement.objects.exists()


def test_the_last_readings_stand_beside_and_are_not_filled_in(built):
    built.measure()
    form = built.client.get(built.address("measure")).context["form"]
    assert form["gauge_length"].help_text.startswith("r1: 95.0 mm, ")
    assert form["runout"].help_text.startswith("r1: 0.008 mm, ")
    assert form["gauge_length"].value() is None


def test_a_draft_is_not_measured(bench):
    page = bench.client.get(bench.address("measure"))
    assert "Build it first" in text_of(page)
    assert b'name="gauge_length"' not in page.content
    assert bench.measure().context["form"].errors
    assert not Measurement.objects.exists()


# ---- releasing
def test_a_measured_build_is_released_once_and_leads_to_its_label(built):
    built.measure()
    number = uuid4()
    first = built.send("release", submission=number)
    second = built.send("release", submission=number)
    label = reverse("labels:print", args=[built.assembly.number])
    assert first["Location"] == second["Location"] == label
    assert Assembly.objects.get(pk=built.assembly.pk).state == "released"
    assert Act.objects.filter(kind="build.release").count() == 1


def test_putting_right_is_folded_away_where_nothing_is_wrong(built):
    def open_parts():
        page = built.client.get(built.address("release")).content.decode()
        return re.findall(r'<details class="card"( open)?>', page)

    assert open_parts() == [" open"]
    built.measure()
    assert open_parts() == [""]


@pytest.mark.parametrize("name", ["measure", "release"])
def test_the_number_stands_once_in_the_head_of_the_page(built, name):
    page = built.client.get(built.address(name)).content.decode()
    head = page.split('<header class="page-head">')[1].split("</header>")[0]
    assert head.count(str(built.assembly.number)) == 1


def test_what_was_not_measured_is_not_released_without_a_reason(built):
    page = built.client.get(built.address("release"))
    unknown = {f.code for f in page.context["findings"] if str(f.level) == "unknown"}
    assert "diameter.not_known" in unknown
    answer = built.send("release")
    assert answer.context["form"].errors
    assert Assembly.objects.get(pk=built.assembly.pk).state == "built"


def test_a_missing_stud_stops_the_release_until_it_is_recorded(at_bench):
    bench = at_bench(stud_state="none_fitted", stud_pattern="")
    bench.put_all()
    bench.make(**{"build-reason": "stud comes on Friday"})
    assert not bench.build.is_draft
    bench.measure()
    assert bench.send("release", reason="hurry").context["form"].errors
    bench.send("stud", stud_state="fitted", stud_pattern="A")
    assert bench.send("release").status_code == 302


def test_a_released_assembly_measured_the_same_stays_released(built):
    built.measure()
    built.send("release")
    answer = built.measure()
    assert answer["Location"] == built.address("assembly_detail")
    assert built.build.revision == 1


def test_a_released_assembly_that_moved_has_to_be_released_again(built):
    built.measure()
    built.send("release")
    answer = built.measure(gauge_length="94.9")
    assert answer["Location"] == built.address("release")
    assert built.build.revision == 2
    assert Assembly.objects.get(pk=built.assembly.pk).state == "built"


def test_other_roles_neither_measure_nor_release(built):
    for role in ("operator", "programmer", "buyer", "lead"):
        client = signed_in(role)
        for name in ("measure", "release"):
            assert client.get(built.address(name)).status_code == 403
            answer = client.post(built.address(name), {"submission": uuid4()})
            assert answer.status_code == 403
    assert Assembly.objects.get(pk=built.assembly.pk).state == "built"


@pytest.mark.parametrize("huge", ["9" * 12, "9" * 20, "9" * 40])
def test_a_number_larger_than_the_database_holds_is_no_fault(bench, huge):
    assert bench.client.get(f"/assemblies/{huge}/bench/").status_code == 404
    answer = bench.send("bench_purpose", meant_for=huge)
    assert list(answer.context["purpose_form"].errors) == ["meant_for"]
