"""Labels: one code for one released build, what it says, and what an entry leads to."""

from uuid import uuid4

import pytest
from django.utils import timezone

from assemblies.actions import build, parts
from assemblies.rules.verdict.facts import CodeKind, FoundBy
from crib.models import UnknownCode
from crib.rules.refusal import NotAllowed
from labels.actions import print_label as printing
from labels.actions.print_label import cancel_label, label_content, print_label
from labels.actions.resolve_code import Outcome, label_facts, resolve
from labels.models import Label
from labels.rules.code import code_from_bits, passes_check, printed_code
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db

NOT_OURS = code_from_bits(0)


def print_it(assembly, role="toolroom", by=None, submission=None):
    return print_label(
        by=by or makers.person(role), submission=submission or uuid4(), assembly=assembly
    )


def cancel(assembly, reason="print got lost", role="toolroom"):
    return cancel_label(
        by=makers.person(role), submission=uuid4(), assembly=assembly, reason=reason
    )


def rebuild(assembly):
    build.start_rebuild(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="dull")


def stored(label):
    return Label.objects.get(pk=label.pk)


# ---- printing
def test_the_first_print_gives_a_code_and_the_next_one_the_same():
    assembly = made.released()

    codes = [print_it(assembly).result for _ in range(3)]

    label = Label.objects.get()
    assert set(codes) == {label.code}
    assert passes_check(label.code)
    assert (label.print_count, label.build) == (3, assembly.current_build)
    assert label.printed_at is not None


def retired():
    assembly = made.released()
    parts.retire(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="worn out")
    return assembly


def quarantined():
    assembly = made.released()
    build.quarantine(by=made.operator(), submission=uuid4(), assembly=assembly, note="dropped")
    return assembly


def rebuilding():
    assembly = made.released()
    rebuild(assembly)
    return assembly


@pytest.mark.parametrize(
    "make",
    [made.started, made.drafted, made.built, made.measured, retired, quarantined, rebuilding],
)
def test_only_a_released_build_has_a_label(make):
    assembly = make()

    assert made.code_of(print_it, assembly) == "label.not_released"
    assert made.code_of(print_it, made.again(assembly)) == "label.not_released"


def test_the_next_revision_has_another_code():
    assembly = made.released()
    first = print_it(assembly).result
    made.record(assembly, gauge_length=97_100)
    assert made.code_of(print_it, assembly) == "label.not_released"
    made.let_go(assembly)

    assert print_it(assembly).result != first
    assert Label.objects.count() == 2


def test_a_code_that_is_taken_is_drawn_again(monkeypatch):
    label, other = made.label_of(made.released()), made.released()
    Label.objects.filter(pk=label.pk).update(code=code_from_bits(7))
    draws = iter([7, 7, 8])
    monkeypatch.setattr(printing.secrets, "randbits", lambda bits: next(draws))

    assert print_it(other).result == code_from_bits(8)
    assert list(draws) == []


def test_without_a_free_code_nothing_is_written(monkeypatch):
    label, other = made.label_of(made.released()), made.released()
    Label.objects.filter(pk=label.pk).update(code=code_from_bits(7))
    monkeypatch.setattr(printing.secrets, "randbits", lambda bits: 7)

    assert made.code_of(print_it, other) == "label.no_code"


# ---- cancelling
def test_a_cancelled_label_is_not_printed_again():
    assembly = made.released()
    label = made.label_of(assembly)

    cancel(assembly)

    assert stored(label).cancel_reason == "print got lost"
    assert made.code_of(print_it, assembly) == "label.cancelled"


def test_a_rebuilt_assembly_gets_a_new_label_after_a_cancelled_one():
    scene = made.Scene.ready()
    cancel(scene.assembly)
    made.record(scene.assembly, gauge_length=97_100)
    made.let_go(scene.assembly)

    assert print_it(scene.assembly).result != scene.label.code


def test_what_is_not_cancelled():
    assembly = made.released()
    assert made.code_of(cancel, assembly) == "label.none"
    made.label_of(assembly)
    assert made.code_of(cancel, assembly, " ") == "label.reason"
    cancel(assembly)
    assert made.code_of(cancel, assembly) == "label.none"


def test_the_label_of_an_ended_build_is_not_cancelled():
    assembly = made.released()
    made.label_of(assembly)
    rebuild(assembly)

    assert made.code_of(cancel, assembly) == "label.none"


# ---- who, and once
@pytest.mark.parametrize("role", ["operator", "programmer", "buyer"])
def test_only_toolroom_lead_and_admin_print_and_cancel(role):
    assembly = made.released()
    with pytest.raises(NotAllowed):
        print_it(assembly, role)
    with pytest.raises(NotAllowed):
        cancel(assembly, role=role)

    assert not Label.objects.exists()


def test_the_same_form_sent_twice_is_one_print():
    assembly, by, once = made.released(), made.toolroom(), uuid4()

    first, again = (print_it(assembly, by=by, submission=once) for _ in range(2))

    assert (again.repeated, again.result) == (True, first.result)
    assert Label.objects.get().print_count == 1


def test_a_label_cancelled_twice_with_one_form_is_cancelled_once():
    assembly, by, once = made.released(), made.toolroom(), uuid4()
    made.label_of(assembly)

    done = [
        cancel_label(by=by, submission=once, assembly=assembly, reason="lost") for _ in range(2)
    ]

    assert [d.repeated for d in done] == [False, True]


# ---- what it says
def test_a_label_says_what_was_built_and_measured(settings):
    settings.BASE_URL = "http://crib.test:8000"
    some, by = made.some_parts(), makers.person("toolroom", initials="IN")
    assembly = made.drafted(some)
    made.make(assembly, by=by)
    made.record(assembly, gauge_length=97_012, diameter=11_996, runout=8)
    made.let_go(assembly)
    label = made.label_of(assembly)

    said = label_content(label)

    assert (said.assembly_number, said.revision) == (str(assembly.number), 1)
    assert said.holder_mark == some.holder.mark
    assert (said.diameter_um, said.gauge_length_um) == (11_996, 97_012)
    assert said.stickout_um == made.STICKOUT_UM
    assert said.limit_rpm == 24_000
    assert (said.built_by, said.built_on) == ("IN", timezone.localdate())
    assert said.url_text == f"http://CRIB.TEST:8000/S/{label.code}"
    assert said.cutter_text == some.cutter.item.description
    assert said.collet_text == some.collet.item.description


@pytest.mark.parametrize(
    ("facts", "limit", "part"),
    [
        ({}, 24_000, "holder"),
        ({"nut": {"n_max_rpm": 20_000}}, 20_000, "nut"),
        ({"nut": {"n_max_rpm": None}}, None, "nut"),
        ({"holder": {"n_max_rpm": None}}, None, "holder"),
        ({"cutter": {"n_max_rpm": None}}, 24_000, "holder"),  # 12 mm carries no mark
    ],
)
def test_the_speed_on_the_label_is_the_lowest_known_one_or_none(facts, limit, part):
    said = label_content(made.label_of(made.released(made.some_parts(**facts), made.REASON)))

    assert (said.limit_rpm, said.limiting_part) == (limit, part)


@pytest.mark.parametrize(("diameter_um", "large"), [(15_999, False), (16_000, True)])
def test_a_cutter_from_16_mm_is_a_large_one(diameter_um, large):
    some = made.some_parts(cutter={"diameter_um": 16_000})
    label = made.label_of(made.released(some, made.REASON, diameter=diameter_um))

    assert label_content(label).large_cutter is large


def test_an_address_that_no_label_can_carry_is_refused_in_words(settings):
    label = made.label_of(made.released())
    settings.BASE_URL = "http://crib.test/below/a/path?x=1"

    assert made.code_of(label_content, label) == "label.address"


# ---- resolving
@pytest.mark.parametrize("scanned", [True, False])
def test_a_code_leads_to_its_label_in_every_spelling(scanned):
    label = made.label_of(made.released())
    spellings = [label.code, label.code.lower(), printed_code(label.code)]

    found = [resolve(text, scanned=scanned, by=None) for text in spellings]

    assert {one.outcome for one in found} == {Outcome.FOUND}
    assert {one.label for one in found} == {label}
    assert not UnknownCode.objects.exists()


def test_the_label_of_an_ended_revision_is_still_found():
    assembly = made.released()
    label = made.label_of(assembly)
    rebuild(assembly)

    assert resolve(label.code, scanned=True, by=None).label == label


@pytest.mark.parametrize(
    ("entry", "outcome"),
    [
        (NOT_OURS, Outcome.UNKNOWN),
        (NOT_OURS[:-1] + ("A" if NOT_OURS[-1] != "A" else "B"), Outcome.CHECK_FAILED),
        ("1044", Outcome.NOT_A_CODE),
        ("", Outcome.NOT_A_CODE),
        ("\x00\ud800" + "x" * 500, Outcome.NOT_A_CODE),
        ("https://elsewhere.test/S/7K2M9QXR", Outcome.NOT_A_CODE),
    ],
)
def test_an_entry_that_leads_nowhere_is_logged_with_its_problem(entry, outcome):
    by = made.operator()

    found = resolve(entry, scanned=False, by=by)

    assert (found.outcome, found.label) == (outcome, None)
    assert found.sentence
    row = UnknownCode.objects.get()
    assert (row.problem, row.by) == (str(outcome), by)
    assert len(row.entry) <= 80
    assert "\x00" not in row.entry


def test_the_facts_of_a_label_are_those_of_its_own_build():
    assembly = made.released()
    first = made.label_of(assembly)
    made.record(assembly, gauge_length=97_100)
    made.let_go(assembly)
    second = made.label_of(assembly)
    cancel(assembly)

    facts = [label_facts(stored(label)) for label in (first, second)]

    assert [f.label_revision for f in facts] == [1, 2]
    assert [f.cancelled for f in facts] == [False, True]
    assert facts[1].cancelled_reason == "print got lost"
    assert {(f.found_by, f.code_kind) for f in facts} == {(FoundBy.LABEL, CodeKind.ASSEMBLY)}
