"""`manage.py check_stack`: answers, ends, its page. Only `--shop` asks the database."""

import io
import json
import re
from pathlib import Path
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import DatabaseError

from assemblies.actions.shop_settings import change_limit
from assemblies.rules.stack_json_names import ENTRIES, LIMIT_ENTRIES
from crib.models import Act, SettingChange
from crib.rules.finding import Level
from crib.rules.standards import CLAMPING_KINDS
from tests import makers

PAGE = (Path(__file__).resolve().parents[2] / "docs/check_stack.md").read_text(encoding="utf-8")
#: Title, JSON, end, and what is said, as the page has them.
EXAMPLES = re.findall(
    r"^### (.+?)\n\n```json\n(.+?)^```\n\nEnds with (\d)(?:: `(.+?)`)?\.", PAGE, flags=re.M | re.S
)
WHOLE = EXAMPLES[0][1]
EMPTY = "{}"


@pytest.fixture
def run(monkeypatch, capsys):
    """Judge a text on standard input: how it ended, what it printed, what it complained of."""

    def run(text, *options):
        data = text if isinstance(text, bytes) else text.encode()
        monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(data)))
        code, said = 0, ""
        try:
            call_command("check_stack", "-", *options)
        except SystemExit as end:
            code = end.code
        except CommandError as error:
            code, said = error.returncode, str(error)
        return code, capsys.readouterr().out, said

    return run


# ---- the page
@pytest.mark.parametrize(
    ("text", "end", "said"), [row[1:] for row in EXAMPLES], ids=[row[0] for row in EXAMPLES]
)
def test_every_example_of_the_page_ends_as_the_page_says(run, text, end, said):
    code, out, complaint = run(text)
    assert code == int(end)
    assert said in out + complaint


def test_the_page_has_an_example_of_each_way_of_clamping():
    held = {
        json.loads(text)["holder"]["clamping"] for _, text, end, _ in EXAMPLES if end in ("0", "2")
    }
    assert held == set(CLAMPING_KINDS)
    assert len(EXAMPLES) == PAGE.count("```json")


@pytest.mark.parametrize("part", [*ENTRIES, "limits"])
def test_the_page_and_the_help_list_every_name_of_a_part(part):
    table = PAGE.split(f"| `{part}` | what |", 1)[1].split("\n\n", 1)[0]
    names = {**ENTRIES, "limits": LIMIT_ENTRIES}[part]
    assert re.findall(r"^\| `([^`]+)` \|", table, flags=re.M) == list(names)


def test_the_help_lists_every_name(capsys):
    with pytest.raises(SystemExit):
        call_command("check_stack", "--help")
    shown = capsys.readouterr().out
    for part, names in {**ENTRIES, "limits": LIMIT_ENTRIES}.items():
        assert f"{part}: {', '.join(names)}" in shown


# ---- ends
def test_a_stack_of_which_nothing_is_known_ends_with_1(run):
    code, out, _ = run(EMPTY)
    assert code == 1
    assert out.rstrip().splitlines()[-1].startswith("Worst: unknown.")


@pytest.mark.parametrize(
    ("part", "change", "code", "end"),
    [
        ("call", {"speed_rpm": 24_000}, "", 0),
        ("call", {"speed_rpm": 24_001}, "speed.over_limit", 2),
        ("call", {"speed_rpm": None}, "speed.not_in_program", 1),
        ("figures", {"torque_nm": None}, "torque.not_known", 1),
        ("collet", {"clamp_max_mm": 12.5}, "", 0),
        ("collet", {"clamp_max_mm": 12.501}, "collet.closed_far", 1),
        ("cutter", {"shank_measured_mm": 11.982}, "", 0),
        ("cutter", {"shank_measured_mm": 10.9}, "collet.shank_too_small", 2),
        ("stud", {"pattern": "A"}, "stud.differs", 2),
    ],
)
def test_one_changed_fact_changes_the_end(run, part, change, code, end):
    stack = json.loads(WHOLE)
    stack[part] |= change
    ended, out, _ = run(json.dumps(stack), "--json")
    assert ended == end
    troubles = [
        f["code"] for f in json.loads(out)["findings"] if f["level"] not in ("pass", "note")
    ]
    assert troubles == ([code] if code else [])


@pytest.mark.parametrize("part", sorted(set(json.loads(WHOLE)) - {"machine", "call"}))
def test_a_part_that_is_not_there_never_ends_with_0(run, part):
    stack = json.loads(WHOLE)
    del stack[part]
    assert run(json.dumps(stack))[0] != 0
    assert run(json.dumps(stack | {part: None}))[0] != 0
    assert run(json.dumps(stack | {part: {}}))[0] != 0


# ---- the answer as JSON
def test_the_answer_as_json_has_its_names(run):
    code, out, _ = run(WHOLE, "--json")
    answer = json.loads(out)
    assert list(answer) == ["stage", "summary", "findings"]
    assert answer["stage"] == "release"
    assert list(answer["summary"]) == ["worst", "counts", "ends_with"]
    assert answer["summary"]["ends_with"] == code == 0
    assert list(answer["summary"]["counts"]) == [str(level) for level in Level]
    assert sum(answer["summary"]["counts"].values()) == len(answer["findings"])
    for finding in answer["findings"]:
        names = ["code", "level", "text", "measured", "limit", "unit", "remedy", "source"]
        assert list(finding) == names


def test_the_worst_finding_comes_first(run):
    stack = json.loads(WHOLE)
    stack["cutter"]["shank_mm"] = "1/2 in"
    _, out, _ = run(json.dumps(stack), "--json")
    weights = [Level(f["level"]).weight for f in json.loads(out)["findings"]]
    assert weights == sorted(weights, reverse=True)
    assert run(json.dumps(stack))[1].startswith("stop_hard  collet.shank_too_large")


def test_bad_input_as_json_names_path_and_what_was_expected(run):
    code, out, complaint = run('{"cutter": {"shank_mm": -1, "kynd": 1}}', "--json")
    assert code == 3
    slips = json.loads(out)["bad_input"]
    assert [slip["path"] for slip in slips] == ["cutter.kynd", "cutter.shank_mm"]
    assert complaint.splitlines() == [f"{slip['path']}: {slip['expected']}" for slip in slips]


def test_many_slips_are_told_as_a_number_of_more(run):
    names = {f"hours_of_{number}": 1 for number in range(20)}
    stack = {"holder": names, "collet": names, "cutter": {"shank_mm": -1}}
    code, _, complaint = run(json.dumps(stack))
    assert code == 3
    assert complaint.splitlines()[-1] == "and 11 more"


# ---- limits
@pytest.mark.parametrize(("closing_mm", "end"), [(0.5, 0), (0.49, 1)])
def test_a_limit_in_the_file_is_the_one_that_counts(run, closing_mm, end):
    stack = json.loads(WHOLE) | {"limits": {"collet_closing_mm": closing_mm}}
    stack["collet"]["clamp_max_mm"] = 12.5
    assert run(json.dumps(stack))[0] == end


@pytest.mark.django_db
def test_with_shop_the_limits_set_in_the_shop_count(run):
    stack = json.loads(WHOLE)
    stack["collet"]["clamp_max_mm"] = 12.2
    assert run(json.dumps(stack), "--shop")[0] == 0
    change_limit(
        by=makers.person("lead"),
        submission=uuid4(),
        name="collet_closing_um",
        value=100,
        seen=0,
        reason="tried out",
    )
    assert run(json.dumps(stack), "--shop")[0] == 1
    assert run(json.dumps(stack))[0] == 0
    own = stack | {"limits": {"collet_closing_mm": 0.2}}
    assert run(json.dumps(own), "--shop")[0] == 0


@pytest.mark.django_db
def test_a_shop_whose_limits_cannot_be_used_is_looked_at(run):
    by = makers.person("lead")
    act = Act.objects.create(kind="limit.change", by=by)
    SettingChange.objects.create(name="closure_um", value="wide", reason="x", act=act, by=by)
    code, out, _ = run(WHOLE, "--shop")
    assert code == 1
    assert "limit.not_readable" in out


def test_a_shop_whose_database_does_not_answer_is_said_in_a_sentence(run, monkeypatch):
    def broken():
        raise DatabaseError("no such table")

    monkeypatch.setattr("assemblies.management.commands.check_stack.limits_in_force", broken)
    code, out, complaint = run(WHOLE, "--shop")
    assert (code, out) == (3, "")
    assert complaint.startswith("The limits of this shop cannot be read")


# ---- files
def test_a_file_is_read_like_standard_input(run, tmp_path, capsys):
    path = tmp_path / "stack.json"
    path.write_text(WHOLE, encoding="utf-8")
    call_command("check_stack", str(path))
    assert capsys.readouterr().out == run(WHOLE)[1]


@pytest.mark.parametrize("name", ["missing.json", ".", "no\0name", "x" * 5000])
def test_a_file_that_cannot_be_read_ends_with_3(tmp_path, name):
    with pytest.raises(CommandError) as refused:
        call_command("check_stack", str(tmp_path / name))
    assert refused.value.returncode == 3
    assert len(str(refused.value)) < 400


def test_arguments_that_are_none_end_with_3():
    with pytest.raises(CommandError) as refused:
        call_command("check_stack")
    assert refused.value.returncode == 3


def test_a_closed_standard_input_ends_with_3(monkeypatch):
    monkeypatch.setattr("sys.stdin", None)
    with pytest.raises(CommandError) as refused:
        call_command("check_stack", "-")
    assert refused.value.returncode == 3
