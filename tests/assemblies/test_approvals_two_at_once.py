"""Two people at one program revision at the same moment: threads with their own connections."""

from uuid import uuid4

import pytest

from assemblies.actions import approvals, machines, proposals, requirements
from assemblies.actions.approvals import approved_revision, set_approval
from assemblies.actions.programs import read_again
from assemblies.actions.readings import reading_of
from assemblies.actions.requirements import confirm_requirement
from assemblies.models import (
    ApprovalState,
    Machine,
    ProgramApproval,
    Reading,
    ToolRequirement,
)
from tests import assembly_makers as made
from tests import makers
from tests.crib.test_two_at_once import at_once, meet_after  # noqa: F401

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def revision():
    found = made.revision()
    made.confirm(found)
    return found


def approving(revision, machine, submission=None):
    by = made.programmer()
    return lambda: set_approval(
        by=by,
        submission=submission or uuid4(),
        revision=revision,
        machine=machine,
        state=ApprovalState.APPROVED,
    )


def test_two_approvals_at_once_make_one_reading_of_the_new_way(revision, meet_after):  # noqa: F811
    """Both have read the file before either writes."""
    machine = made.machine(default_units="inch")
    meet_after((approvals, "read_missing"))

    answers = at_once(approving(revision, machine), approving(revision, machine))

    assert [answer.repeated for answer in answers] == [False, False]
    assert Reading.objects.filter(settings_key="inch").count() == 1
    assert ProgramApproval.objects.count() == 2
    assert approved_revision(revision.program, machine) == revision


def test_two_people_stating_one_new_tool_number_leave_one_row(revision, meet_after):  # noqa: F811
    revision.requirements.all().delete()
    meet_after((requirements, "held"))

    def stating(tolerance_um):
        by, figures = made.programmer(), made.figures(diameter_tolerance_um=tolerance_um)
        return lambda: confirm_requirement(
            by=by, submission=uuid4(), revision=revision, tool_number=5, figures=figures
        )

    at_once(stating(50), stating(60))

    assert revision.requirements.get().diameter_tolerance_um in (50, 60)


def test_an_approval_while_the_file_is_read_again_finds_a_reading(revision):
    machine, by = made.machine(), made.programmer()
    revision.readings.update(reader_version=1)

    at_once(
        approving(revision, machine),
        lambda: read_again(by=by, submission=uuid4(), revision=revision),
    )

    assert Reading.objects.count() == 1
    assert approved_revision(revision.program, machine) == revision


def test_settings_saved_during_an_approval_leave_no_reading_of_the_old_way_to_count(
    revision,
    meet_after,  # noqa: F811
):
    machine, lead = made.machine(), makers.person("lead")
    other = Machine.objects.get(pk=machine.pk)
    other.default_units = "inch"
    meet_after((approvals, "read_missing"), (machines, "_read_anew"))

    answers = at_once(
        approving(revision, machine),
        lambda: machines.save_machine(by=lead, submission=uuid4(), machine=other),
    )

    # Whichever came first: the spindle goes by the way of today, and knows that there is none.
    today = Machine.objects.get()
    assert today.default_units == "inch"
    assert reading_of(revision, today) is None
    approved = approved_revision(revision.program, today)
    assert answers[0] != "approval.settings_changed" or approved is None


def test_an_answer_put_right_while_the_next_revision_is_handed_in_is_carried_nowhere(
    revision,
    meet_after,  # noqa: F811
):
    by, figures = made.programmer(), made.figures(diameter_um=10_000)
    text = made.PROGRAM.replace("X100", "X200")
    handing_in = made.programmer()
    meet_after((proposals, "_stated_by"), (requirements, "_ask_later_ones_again"))

    at_once(
        lambda: made.revision(str(revision.program), "B", text, by=handing_in),
        lambda: confirm_requirement(
            by=by, submission=uuid4(), revision=revision, tool_number=5, figures=figures
        ),
    )

    row = ToolRequirement.objects.get(revision__label="B")
    assert (row.is_confirmed, row.diameter_um) in ((True, 10_000), (False, 12_000))
