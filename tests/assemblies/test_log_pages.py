"""The log of decisions: cut down, counted, paged, handed out as a file."""

from __future__ import annotations

import csv
import io
from copy import deepcopy
from datetime import timedelta

import pytest
from django.utils import timezone

from assemblies.models import Load, SpindleCheck
from assemblies.views import check_export, checks
from crib.rules.finding import Finding, Level
from tests import assembly_makers as made
from tests import makers
from tests.assemblies import load_makers
from tests.assemblies.log_rows import AGREES, HOURS, LENGTH, Log

pytestmark = pytest.mark.django_db

LIST, EXPORT, RATES = "/checks/", "/checks/export/", "/checks/rules/"


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    return Log.open()


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop)


@pytest.fixture
def seen_by(client):
    def look(person, address=LIST):
        client.force_login(person)
        return client.get(address)

    return look


def found(page) -> list[int]:
    return [row.pk for row in page.context["table"].data]


def lines(answer) -> list[list[str]]:
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text)))


def day(ago: int) -> str:
    return f"{timezone.localdate() - timedelta(days=ago):%Y-%m-%d}"


# ---- cutting it down
@pytest.fixture
def mixed(shop):
    """One row of each sort; the names say what is special about each."""
    other = made.machine(mark="ALONE", name="Router alone")
    program = made.revision("HM-0412", "A")
    return {
        "match": shop.add(ago=1),
        "machine": shop.add(ago=2, machine=other),
        "program": shop.add(ago=3, revision=program, tool_number=7),
        "check": shop.check(ago=4, fully_known=False),
        "refused": shop.refused(ago=5, by=shop.lead),
        "override": shop.overridden(shop.lead, ago=6),
        "own": shop.overridden(shop.lead, by=shop.lead, ago=7),
        "old": shop.add(ago=24 * 40, found_by="number", verdict="cant_tell", reason="agreed"),
    }


ALL = ["match", "machine", "program", "check", "refused", "override", "own", "old"]


@pytest.mark.parametrize(
    ("asked", "names"),
    [
        ("", ALL),
        ("machine=alone", ["machine"]),
        ("program=0412", ["program"]),
        ("program=hm-04", ["program"]),
        ("program=%20", ALL),
        ("tool_number=7", ["program"]),
        ("tool_number=0", []),
        ("verdict=check", ["check"]),
        ("verdict=cant_tell", ["old"]),
        ("verdict=stop", ["override", "own"]),
        ("decision=refused", ["refused"]),
        ("reason=dull", ["refused"]),
        ("reason=trial", ["check", "override", "own"]),
        ("overridden=yes", ["override", "own"]),
        ("overridden=own", ["own"]),
        ("not_fully_known=on", ["check"]),
        ("code=collet.hours_over", ["check"]),
        ("code=program.length_differs", ["override", "own"]),
        ("code=assembly.released", []),
        ("code=collet.hours", []),
        ("verdict=stop&overridden=own&reason=trial", ["own"]),
        ("verdict=match&reason=dull", ["refused"]),
        ("machine=alone&verdict=stop", []),
    ],
)
def test_the_log_is_cut_down_to_what_is_asked(shop, seen_by, mixed, asked, names):
    page = seen_by(shop.toolroom, f"{LIST}?{asked}")

    assert page.status_code == 200
    assert found(page) == [mixed[name].pk for name in names]


@pytest.mark.parametrize(
    ("asked", "names"),
    [
        (f"since={day(39)}", ALL[:-1]),
        (f"since={day(41)}", ALL),
        (f"until={day(39)}", ["old"]),
        (f"until={day(41)}", []),
        (f"since={day(41)}&until={day(39)}", ["old"]),
    ],
)
def test_days_count_from_their_beginning_to_their_end(shop, seen_by, mixed, asked, names):
    assert found(seen_by(shop.toolroom, f"{LIST}?{asked}")) == [mixed[name].pk for name in names]


def test_the_last_second_of_a_day_belongs_to_it(shop, seen_by):
    midnight = timezone.localtime().replace(hour=0, minute=0, second=0, microsecond=0)
    first, last = shop.add(at=midnight), shop.add(at=midnight - timedelta(seconds=1))

    assert found(seen_by(shop.lead, f"{LIST}?since={day(0)}")) == [first.pk]
    assert found(seen_by(shop.lead, f"{LIST}?until={day(1)}")) == [last.pk]


def test_an_assembly_is_found_by_its_number(shop, seen_by):
    row = shop.add()
    number = shop.assembly.number

    assert found(seen_by(shop.toolroom, f"{LIST}?assembly={number}")) == [row.pk]
    assert found(seen_by(shop.toolroom, f"{LIST}?assembly={number + 1}")) == []


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ("machine=nowhere", "machine"),
        ("decision=nonsense", "decision"),
        ("verdict=green", "verdict"),
        ("reason=felt_like_it", "reason"),
        ("overridden=perhaps", "overridden"),
        ("tool_number=five", "tool_number"),
        ("tool_number=-1", "tool_number"),
        ("assembly=0", "assembly"),
        ("assembly=99999999999999999999", "assembly"),
        ("since=yesterday", "since"),
        ("since=0001-01-01", "since"),
        ("until=9999-12-31", "until"),
        ("since=2026-05-02&until=2026-05-01", "until"),
        ("code=' OR 1=1", "code"),
        ("person=999999", "person"),
    ],
)
def test_a_value_that_makes_no_sense_is_refused_with_its_field(shop, seen_by, asked, field):
    shop.add()

    for address in (LIST, EXPORT):
        page = seen_by(shop.lead, f"{address}?{asked}")

        assert page.status_code == 422
        assert list(page.context["form"].errors) == [field]
        assert found(page) == []
        assert page.context["counts"] is None
        assert page.context["form"][field].errors[0] in page.context["form"].errors[field]


def test_who_it_was_can_be_asked_by_the_lead_only(shop, seen_by):
    shop.add()
    row = shop.add(by=shop.toolroom)
    asked = f"{LIST}?person={shop.toolroom.pk}"

    assert found(seen_by(shop.lead, asked)) == [row.pk]
    assert len(found(seen_by(shop.toolroom, asked))) == 2
    assert "person" not in seen_by(shop.toolroom).context["form"].fields


@pytest.mark.parametrize(
    ("asked", "text"), [("", "Nothing was decided"), ("?verdict=stop", "No check matches.")]
)
def test_empty_says_whether_nothing_is_there_or_nothing_matches(shop, seen_by, asked, text):
    page = seen_by(shop.toolroom, LIST + asked)

    assert text in page.context["table"].empty_text
    assert page.context["counts"]["all"] == 0


@pytest.mark.parametrize("level", list(Level))
def test_a_rule_is_found_where_it_spoke_against_a_match(shop, seen_by, level):
    told = Finding("speed.limit_not_known", level, "n max of the nut is not known.")
    row = shop.add(findings=(AGREES, told))
    expected = [] if level in ("pass", "note") else [row.pk]

    assert found(seen_by(shop.toolroom, f"{LIST}?code=speed.limit_not_known")) == expected


def test_a_code_in_the_words_of_another_rule_is_not_that_rule(shop, seen_by):
    shop.check(findings=(Finding("state.odd", Level.CHECK, '"code": "collet.hours_over"'),))

    assert found(seen_by(shop.toolroom, f"{LIST}?code=collet.hours_over")) == []


# ---- counts, order, pages
def test_verdicts_are_counted_over_all_pages(shop, seen_by, mixed):
    counted = seen_by(shop.toolroom).context["counts"]

    assert counted == {
        "all": 8,
        "match": 4,
        "check": 1,
        "stop": 2,
        "cant_tell": 1,
        "loaded": 7,
    }


def test_fifty_stand_on_a_page_newest_first_and_the_search_is_kept(shop, seen_by):
    at = timezone.now()
    rows = [shop.add(at=at) for _ in range(52)]
    shop.refused(ago=1)
    newest = [row.pk for row in reversed(rows)]

    first = seen_by(shop.toolroom, f"{LIST}?decision=loaded")
    second = seen_by(shop.toolroom, f"{LIST}?decision=loaded&page=2")

    pages = [[row.record.pk for row in page.context["table"].page] for page in (first, second)]
    assert pages == [newest[:50], newest[50:]]
    assert "decision=loaded&amp;page=2" in first.text


def test_no_more_lines_are_fetched_than_stand_on_a_page(shop, seen_by):
    for _ in range(52):
        shop.add()

    table = seen_by(shop.lead).context["table"]

    assert len(table.rows) == 52
    assert table.data.data._result_cache is None


@pytest.mark.parametrize("rows", [1, 12])
def test_the_number_of_queries_does_not_grow_with_the_log(
    shop, client, django_assert_num_queries, rows
):
    for _ in range(rows):
        shop.check()
        shop.overridden(shop.lead)
    client.force_login(shop.lead)

    with django_assert_num_queries(8):
        client.get(f"{LIST}?code=collet.hours_over&machine={shop.machine.mark_key}")
    with django_assert_num_queries(4):
        lines(client.get(EXPORT))
    with django_assert_num_queries(5):
        client.get(RATES)


# ---- one check
def test_a_check_shows_who_overrode_and_what_became_of_it(shop, seen_by):
    load = load_makers.put(shop.assembly, shop.machine, findings=[HOURS.as_dict()])
    load_makers.out(load, "worn")
    address = f"{LIST}{load.spindle_check_id}/"

    page = seen_by(shop.lead, address)

    assert [finding.code for finding in page.context["findings"]] == [HOURS.code]
    assert page.context["check"].load == Load.objects.get()
    assert "worn" in page.text
    assert "not answered" in page.text


def test_names_on_a_check_are_for_the_lead(shop, seen_by):
    row = shop.overridden(shop.lead)

    for person, sees in ((shop.lead, True), (shop.toolroom, False), (shop.operator, False)):
        text = seen_by(person, f"{LIST}{row.pk}/").text
        main = text[text.index("<main") : text.index("</main")]
        assert ("Oswin" in main) is sees
        assert ("Tolly" in main) is sees
        assert "Stop overridden" in main


def test_a_check_takes_three_queries(shop, client, django_assert_num_queries):
    row = shop.overridden(shop.lead)
    client.force_login(shop.lead)

    with django_assert_num_queries(3):
        client.get(f"{LIST}{row.pk}/")


# ---- the file
def test_the_file_holds_what_the_list_was_cut_down_to(shop, seen_by, mixed):
    listed = seen_by(shop.toolroom, f"{LIST}?verdict=stop")
    answer = seen_by(shop.toolroom, f"{EXPORT}?{listed.context['asked']}")

    head, *rows = lines(answer)

    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"].endswith('.csv"')
    cells = [dict(zip(head, row, strict=True)) for row in rows]
    assert [row["Stop overridden"] for row in cells] == ["yes", "own PIN"]
    assert {row["What was said against it"] for row in cells} == {LENGTH.text}
    assert {row["T"] for row in cells} == {"5"}


def test_names_stand_in_the_file_of_the_lead_only(shop, seen_by):
    shop.overridden(shop.lead)

    for person, sees in ((shop.lead, True), (shop.toolroom, False), (shop.operator, False)):
        head, row = lines(seen_by(person, EXPORT))
        assert ("Who" in head) is sees
        assert ("Tolly" in row) is sees
        assert ("Oswin" in row) is sees


@pytest.mark.parametrize("words", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "  =1"])
def test_no_text_in_the_file_is_a_formula(shop, seen_by, words):
    shop.check(reason_text=words, findings=(Finding("state.odd", Level.CHECK, words),))

    head, row = lines(seen_by(shop.toolroom, EXPORT))

    cells = dict(zip(head, row, strict=True))
    assert cells["In own words"] == f"'{words}"
    assert cells["What was said against it"] == f"'{words}"


@pytest.mark.parametrize(("most", "left_out"), [(4, 0), (3, 0), (2, 1), (1, 2)])
def test_a_file_that_was_cut_says_so_in_its_last_line_and_on_the_page(
    shop, seen_by, monkeypatch, most, left_out
):
    rows = [shop.add(ago=ago) for ago in (1, 2, 3)]
    monkeypatch.setattr(check_export, "MOST_EXPORTED", most)
    monkeypatch.setattr(checks, "MOST_EXPORTED", most)

    _, *told = lines(seen_by(shop.toolroom, EXPORT))

    assert len(told) == min(most, 3) + (left_out > 0)
    assert told[0][0] == timezone.localtime(rows[0].at).strftime("%Y-%m-%d %H:%M:%S")
    assert told[-1][0].startswith(f"{left_out} older") is (left_out > 0)
    page = seen_by(shop.toolroom).text
    assert (f"holds the newest {most}" in page) is (left_out > 0)


def test_what_is_not_known_is_an_empty_cell(shop, seen_by):
    shop.add(gauge_length_um=97_000, diameter_um=None, machine=None, tool_number=None)

    head, row = lines(seen_by(shop.toolroom, EXPORT))

    cells = dict(zip(head, row, strict=True))
    assert cells["Length at the control mm"] == "97.000"
    assert (cells["Diameter at the control mm"], cells["Machine"], cells["T"]) == ("", "", "")


def test_reading_the_log_writes_nothing(shop, seen_by):
    row = shop.overridden(shop.lead)
    before = made.written()

    for address in (LIST, RATES, f"{LIST}{row.pk}/", f"{LIST}{row.pk}/hands-on/"):
        assert seen_by(shop.lead, address).status_code == 200
    lines(seen_by(shop.lead, EXPORT))

    assert made.written() == before


# ---- rules
def test_the_page_of_the_rules_counts_ninety_days_and_links_into_the_log(shop, seen_by):
    shop.check(ago=1)
    shop.check(ago=24 * 95)
    shop.refused(findings=(HOURS,), verdict="check", fully_known=False)

    page = seen_by(shop.toolroom, RATES)

    (rule,) = page.context["rates"].rules
    assert (rule.code, rule.said, rule.accepted, rule.text) == (HOURS.code, 2, 1, HOURS.text)
    since = page.context["since"]
    address = f"{LIST}?code={rule.code}&amp;since={since:%Y-%m-%d}"
    assert address in page.text
    behind = seen_by(shop.toolroom, address.replace("&amp;", "&"))
    assert len(found(behind)) == rule.said


@pytest.mark.parametrize(("decisions", "said"), [(9, True), (10, False)])
def test_below_ten_decisions_no_share_is_shown(shop, seen_by, decisions, said):
    for _ in range(decisions):
        shop.add()

    assert ("Too few for a share." in seen_by(shop.lead, RATES).text) is said


def test_a_rule_accepted_three_times_is_pointed_out(shop, seen_by):
    for _ in range(2):
        shop.check()
    assert "Rule or data wrong?" not in seen_by(shop.toolroom, RATES).text

    shop.check()

    assert "Rule or data wrong?" in seen_by(shop.toolroom, RATES).text


def test_the_morning_list_has_own_pins_first_and_names_for_the_lead(shop, seen_by):
    second = shop.overridden(shop.lead, ago=1)
    third = shop.overridden(shop.lead, ago=30)
    first = shop.overridden(shop.toolroom, by=shop.toolroom, ago=60)
    shop.overridden(shop.lead, ago=24 * 8)

    page = seen_by(shop.lead, RATES)

    told = page.context["overrides"]
    assert [line.check.pk for line in told] == [first.pk, second.pk, third.pk]
    assert [line.own_pin for line in told] == [True, False, False]
    assert told[0].stops == [LENGTH.text]
    assert page.text.count("last 24 h") == 1
    assert "Tolly" in page.text
    assert "Tolly" not in seen_by(shop.toolroom, RATES).text


def test_rates_that_were_cut_say_so(shop, seen_by, monkeypatch):
    from assemblies.actions import check_log
    from assemblies.views import override_rates

    for _ in range(3):
        shop.add()
    assert "Only the newest" not in seen_by(shop.lead, RATES).text

    monkeypatch.setattr(check_log, "MOST_FOR_RATES", 2)
    monkeypatch.setattr(override_rates, "MOST_FOR_RATES", 2)

    page = seen_by(shop.lead, RATES)
    assert page.context["rates"].decisions == 2
    assert "Only the newest 2" in page.text


@pytest.mark.parametrize("role", ["operator", "programmer", "buyer"])
def test_the_rates_are_not_for_everybody(seen_by, role):
    person = makers.person(role)

    assert seen_by(person, RATES).status_code == 403
    assert RATES not in seen_by(person).text
    assert not SpindleCheck.objects.exists()
