"""`manage.py read_program`: the answer in its text, its structure and its end."""

import io
import json
from types import SimpleNamespace

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from assemblies.models import Machine

WHOLE = b"O7 (SIDE)\nG21 T5 M6 (6MM DRILL)\nS900 M3\nG0 G43 H5 Z5\nG81 X10 Z-4 R1 F100\nG80\nM30\n"
NOT_WHOLE = WHOLE.replace(b"G80", b"G80 E1")


@pytest.fixture
def run(tmp_path, capsys):
    """Run the command on a program; what it printed, and how it ended."""

    def run(data, *options):
        path = tmp_path / "part.nc"
        path.write_bytes(data)
        code = 0
        try:
            call_command("read_program", str(path), *options)
        except SystemExit as end:
            code = end.code
        return code, capsys.readouterr().out

    return run


def test_a_whole_program_is_a_table_and_ends_with_zero(run):
    code, text = run(WHOLE)
    assert code == 0
    assert "O7 SIDE" in text
    row = next(line for line in text.splitlines() if line.endswith("6MM DRILL")).split()
    assert row[:6] == ["5", "1", "900", "cw", "100", "-4.000"]
    assert text.rstrip().endswith("Read whole.")


def test_what_is_not_fully_read_ends_with_one_and_marks_its_figures(run):
    code, text = run(NOT_WHOLE)
    assert code == 1
    assert "≥900" in text
    assert "≤-4.000" in text
    assert "unknown" in text


def test_the_structure_has_the_names_of_the_reading(run):
    code, text = run(WHOLE, "--json")
    facts = json.loads(text)
    assert (code, facts["complete"], facts["program_number"]) == (0, True, "7")
    use = facts["tool_uses"]["5"]
    assert (use["tool_number"], use["deepest_z_by_work_offset"]) == (5, {"G54": -4.0})
    assert use["feed_path_length"] == pytest.approx(5)
    assert use["exact"]["cutting_time"] is True
    assert run(NOT_WHOLE, "--json")[0] == 1


@pytest.mark.parametrize("data", [b"PK\x03\x04rest", b"", bytes(range(256))])
def test_other_files_end_with_two(run, data):
    with pytest.raises(CommandError) as error:
        run(data)
    assert error.value.returncode == 2


def test_a_missing_file_ends_with_two():
    with pytest.raises(CommandError) as error:
        call_command("read_program", "/no/such/file.nc")
    assert error.value.returncode == 2


def test_a_dash_reads_standard_input(monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(WHOLE)))
    call_command("read_program", "-")
    assert "O7 SIDE" in capsys.readouterr().out


@pytest.mark.django_db
def test_a_machine_reads_as_its_own_control_does(run):
    Machine.objects.create(
        mark="R1", name="Router", interface="BT30", uses_stud=False, default_units="inch"
    )
    data = WHOLE.replace(b"G21 ", b"")
    assert "-101.600" in run(data, "--machine", "r1")[1]
    assert "-4.000" in run(data)[1]


@pytest.mark.django_db
def test_a_machine_that_is_not_known_ends_with_two(run):
    with pytest.raises(CommandError) as error:
        run(WHOLE, "--machine", "R9")
    assert error.value.returncode == 2
