"""A small shop with one machine, one program and one released assembly that is a MATCH for T5."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import uuid4

from assemblies.actions.approvals import set_approval
from assemblies.actions.build import make_build, release, set_figures, start_assembly, start_rebuild
from assemblies.actions.machines import save_machine
from assemblies.actions.measure import Reading, record_measurements
from assemblies.actions.parts import put_part
from assemblies.actions.programs import add_revision
from assemblies.actions.requirements import RequirementFigures, confirm_requirement
from assemblies.actions.spindle import choose_station
from assemblies.models import ApprovalState, Assembly, Machine, ProgramRevision
from crib.models import Person, Place
from labels.actions.print_label import print_label
from tests import makers

PROGRAM = (
    "%\nO0377 (INVENTED)\nT5 M6\nS18000 M3\nG43 H5 G1 X10. F3000\nM5\n"
    "T3 M6\nS{speed} M3\nG43 H3 G1 X20.\nM30\n%"
)
WANTED = RequirementFigures(
    kind="compression",
    diameter_um=12_000,
    diameter_tolerance_um=50,
    hand="right",
    length_rule="window",
    gauge_length_um=95_000,
    gauge_tolerance_um=1_000,
    stickout_min_um=43_000,
    stickout_max_um=47_000,
)
OTHER = RequirementFigures(
    kind="spiral_down",
    diameter_um=8_000,
    diameter_tolerance_um=50,
    hand="right",
    length_rule="window",
    gauge_length_um=82_000,
    gauge_tolerance_um=1_000,
)
READINGS = (
    Reading("gauge_length", 95_000),
    Reading("diameter", 12_000),
    Reading("runout", 8, 30_000),
)


@dataclass
class Shop:
    """Who works there, and what stands in it."""

    toolroom: Person
    operator: Person
    lead: Person
    programmer: Person
    rack: Place
    machine: Machine
    revision: ProgramRevision

    def built(self, mark: str = "", readings=READINGS, released: bool = True, **cutter) -> Assembly:
        """Another assembly, built and measured; `cutter` are facts of its cutter."""
        by = self.toolroom
        number = int(start_assembly(by=by, submission=uuid4()).result)
        assembly = Assembly.objects.get(number=number)
        # A loose collet has no record of its hours, and what is not known is no match.
        holder = makers.piece(makers.holder_item(), self.rack, mark)
        collet = makers.piece(makers.collet_item(), self.rack)
        for piece in (holder, collet):
            put_part(by=by, submission=uuid4(), assembly=assembly, item=piece.item, piece=piece)
        for item in (makers.nut_item(), makers.cutter_item(**cutter)):
            makers.stocked(item, self.rack)
            put_part(by=by, submission=uuid4(), assembly=assembly, item=item)
        self.finish(assembly, readings, released)
        return Assembly.objects.get(pk=assembly.pk)

    def finish(self, assembly: Assembly, readings=READINGS, released: bool = True) -> None:
        """Tighten, measure and release what lies on the bench."""
        asked = {"by": self.toolroom, "assembly": assembly}
        set_figures(
            **asked, submission=uuid4(), stickout_um=45_000, grip_um=36_000, torque_mnm=136_000
        )
        make_build(**asked, submission=uuid4())
        if readings:
            record_measurements(**asked, submission=uuid4(), readings=list(readings))
        if released:
            release(**asked, submission=uuid4())

    def rebuilt(self, assembly: Assembly) -> Assembly:
        """The next revision of `assembly`, released."""
        start_rebuild(by=self.toolroom, submission=uuid4(), assembly=assembly, reason="cutter dull")
        self.finish(assembly)
        return Assembly.objects.get(pk=assembly.pk)

    def label(self, assembly: Assembly) -> str:
        """The code on its label."""
        return print_label(by=self.toolroom, submission=uuid4(), assembly=assembly).result

    def stand_at(self, client, person: Person, revision: ProgramRevision | str | None = "") -> None:
        """Sign `person` in at the machine, with the program unless another one is named."""
        client.force_login(person)
        choose_station(
            by=person,
            session_key=client.session.session_key,
            machine=self.machine,
            revision=self.revision if revision == "" else revision,
        )


def program_revision(by: Person, name="HM-0377", label="B", speed=16_000) -> ProgramRevision:
    """A program that calls T5 and T3; T3 turns at `speed`."""
    text = PROGRAM.format(speed=speed)
    done = add_revision(by=by, submission=uuid4(), name=name, label=label, data=text.encode())
    return ProgramRevision.objects.get(pk=done.result)


def confirm(by: Person, revision: ProgramRevision, tool_number: int, figures, **more) -> None:
    confirm_requirement(
        by=by,
        submission=uuid4(),
        revision=revision,
        tool_number=tool_number,
        figures=figures,
        **more,
    )


def approve(by: Person, revision: ProgramRevision, machine: Machine, **more) -> None:
    more = {"state": ApprovalState.APPROVED, **more}
    set_approval(by=by, submission=uuid4(), revision=revision, machine=machine, **more)


def router(by: Person, **facts) -> Machine:
    machine = Machine(
        **{
            "mark": "R1",
            "name": "Router 1",
            "interface": "ISO 30 router",
            "stud_pattern": "A",
            "speed_min_rpm": 3_000,
            "speed_max_rpm": 24_000,
            "length_max_um": 130_000,
            "diameter_max_um": 100_000,
            "is_router": True,
            **facts,
        }
    )
    save_machine(by=by, submission=uuid4(), machine=machine)
    return machine


def open_shop() -> Shop:
    programmer, lead = makers.person("programmer"), makers.person("lead", first_name="Odell")
    machine = router(lead)
    revision = program_revision(programmer)
    confirm(programmer, revision, 5, WANTED)
    confirm(programmer, revision, 3, OTHER)
    approve(lead, revision, machine)
    return Shop(
        toolroom=makers.person("toolroom", initials="IN"),
        operator=makers.person("operator", first_name="Tolly"),
        lead=lead,
        programmer=programmer,
        rack=makers.place("RACK B3"),
        machine=machine,
        revision=revision,
    )
