"""Assemblies, machines and programs to test with, made by the actions that the pages use.

Everything left at its default goes together: the released assembly is a MATCH for T5 of the
program on the machine. A test changes one fact and looks at what follows.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from uuid import uuid4

import pytest
from django.apps import apps

from assemblies.actions import (
    approvals,
    build,
    machines,
    measure,
    parts,
    programs,
    requirements,
    spindle,
)
from assemblies.actions.measure import Reading
from assemblies.actions.requirements import RequirementFigures
from assemblies.models import (
    ApprovalState,
    Assembly,
    Decision,
    Machine,
    ProgramRevision,
    SpindleCheck,
    ToolRequirement,
)
from crib.models import Act, Item, Movement, Person, Piece, Place, Use
from crib.rules.refusal import Refused
from labels.actions.print_label import print_label
from labels.actions.resolve_code import label_facts
from labels.models import Label
from tests import makers

_numbers = itertools.count(1)

TOOL = 5
STICKOUT_UM, GRIP_UM, TORQUE_MNM = 47_000, 35_000, 100_000
#: Gauge length of the holder and the stick-out, as measured.
GAUGE_LENGTH_UM, DIAMETER_UM, RUNOUT_UM = 97_000, 12_000, 8
REASON = "looked at and accepted"

PROGRAM = """%
O4120 (INVENTED: SHELF)
(T5 COMPRESSION SPIRAL D12.0)
G21 G90
T5 M6
S18000 M3
G0 X0 Y0
G43 H5 Z5
G1 Z-3 F1000
X100 F4000
M5
M30
%
"""


def toolroom() -> Person:
    return makers.person("toolroom")


def programmer() -> Person:
    return makers.person("programmer")


def operator() -> Person:
    return makers.person("operator")


@dataclass(frozen=True)
class Parts:
    """What goes into one assembly, lying in a drawer that all of them call home."""

    drawer: Place
    holder: Piece
    collet: Piece
    nut: Item
    cutter: Piece

    def in_order(self) -> list[tuple[Item, Piece | None]]:
        marked = [(piece.item, piece) for piece in (self.holder, self.collet, self.cutter)]
        return [*marked, (self.nut, None)]


def some_parts(**facts) -> Parts:
    """Parts that fit each other. `holder=`, `collet=`, `nut=`, `cutter=`: facts to change."""
    drawer = makers.place()
    nut = makers.nut_item(
        **{"torque_recommended_mnm": TORQUE_MNM, "torque_max_mnm": 136_000} | facts.get("nut", {})
    )
    items = {
        "holder": makers.holder_item(**facts.get("holder", {})),
        "collet": makers.collet_item(**facts.get("collet", {})),
        "cutter": makers.cutter_item(**facts.get("cutter", {})),
    }
    for item in (*items.values(), nut):
        item.home_place = drawer
        item.save()
    makers.stocked(nut, drawer)
    pieces = {
        name: makers.piece(item, drawer, **facts.get(f"{name}_piece", {}))
        for name, item in items.items()
    }
    return Parts(drawer=drawer, nut=nut, **pieces)


def again(assembly: Assembly) -> Assembly:
    """The assembly as it is stored now, as a page would fetch it."""
    return Assembly.objects.select_related("contents__parent").get(pk=assembly.pk)


def started(name: str = "", by: Person | None = None) -> Assembly:
    """An assembly whose draft is empty."""
    done = build.start_assembly(by=by or toolroom(), submission=uuid4(), name=name)
    return Assembly.objects.get(number=int(done.result))


def put(assembly: Assembly, item: Item, piece: Piece | None = None, by: Person | None = None):
    return parts.put_part(
        by=by or toolroom(), submission=uuid4(), assembly=assembly, item=item, piece=piece
    )


def set_figures(assembly: Assembly, **figures):
    """Keep stick-out, grip and torque on the draft; the usual ones where none is given."""
    given = {"stickout_um": STICKOUT_UM, "grip_um": GRIP_UM, "torque_mnm": TORQUE_MNM} | figures
    return build.set_figures(by=toolroom(), submission=uuid4(), assembly=assembly, **given)


def drafted(some: Parts | None = None, **figures) -> Assembly:
    """An assembly with all its parts and figures in the draft."""
    assembly = started()
    for item, piece in (some or some_parts()).in_order():
        put(assembly, item, piece)
    set_figures(assembly, **figures)
    return again(assembly)


def make(assembly: Assembly, reason: str = "", by: Person | None = None):
    return build.make_build(
        by=by or toolroom(), submission=uuid4(), assembly=assembly, reason=reason
    )


def built(some: Parts | None = None, reason: str = "", **figures) -> Assembly:
    """An assembly as revision 1, not measured yet."""
    assembly = drafted(some, **figures)
    make(assembly, reason)
    return again(assembly)


def record(assembly: Assembly, by: Person | None = None, **values):
    """Add readings, one for each keyword: `gauge_length=97_000`."""
    readings = [Reading(quantity=name, value_um=value) for name, value in values.items()]
    return measure.record_measurements(
        by=by or toolroom(), submission=uuid4(), assembly=assembly, readings=readings
    )


def measured(some: Parts | None = None, reason: str = "", **values) -> Assembly:
    """An assembly as revision 1 with readings; a value of None leaves that one out."""
    assembly = built(some, reason)
    usual = {"gauge_length": GAUGE_LENGTH_UM, "diameter": DIAMETER_UM, "runout": RUNOUT_UM}
    taken = {name: value for name, value in (usual | values).items() if value is not None}
    record(assembly, **taken)
    return again(assembly)


def let_go(assembly: Assembly, reason: str = "", by: Person | None = None):
    """Release it."""
    return build.release(by=by or toolroom(), submission=uuid4(), assembly=assembly, reason=reason)


def released(some: Parts | None = None, reason: str = "", **values) -> Assembly:
    """An assembly that may go to a machine."""
    assembly = measured(some, reason, **values)
    let_go(assembly, reason)
    return again(assembly)


def label_of(assembly: Assembly) -> Label:
    """The label of the released build, printed."""
    done = print_label(by=toolroom(), submission=uuid4(), assembly=assembly)
    return Label.objects.select_related("build").get(code=done.result)


def machine(**fields) -> Machine:
    number = next(_numbers)
    given = {
        "mark": f"R{number}",
        "name": f"Router {number}",
        "interface": "ISO 30 router",
        "stud_pattern": "A",
        "speed_min_rpm": 1_000,
        "speed_max_rpm": 24_000,
        "is_router": True,
    }
    made = Machine(**given | fields)
    machines.save_machine(by=makers.person("lead"), submission=uuid4(), machine=made)
    return made


def revision(
    name: str = "", label: str = "A", text: str = PROGRAM, by: Person | None = None
) -> ProgramRevision:
    """A program file handed in; nothing is confirmed and nothing approved."""
    done = programs.add_revision(
        by=by or programmer(),
        submission=uuid4(),
        name=name or f"P-{next(_numbers)}",
        label=label,
        data=text.encode(),
    )
    return ProgramRevision.objects.select_related("program").get(pk=int(done.result))


def figures(**changed) -> RequirementFigures:
    """What T5 must be, as the released assembly is."""
    wanted = {
        "kind": "compression",
        "diameter_um": DIAMETER_UM,
        "diameter_tolerance_um": 50,
        "length_rule": "window",
        "gauge_length_um": GAUGE_LENGTH_UM,
        "gauge_tolerance_um": 1_000,
    }
    return RequirementFigures(**wanted | changed)


def confirm(
    of: ProgramRevision, tool_number: int = TOOL, by: Person | None = None, **changed
) -> ToolRequirement:
    done = requirements.confirm_requirement(
        by=by or programmer(),
        submission=uuid4(),
        revision=of,
        tool_number=tool_number,
        figures=figures(**changed),
    )
    return ToolRequirement.objects.get(pk=int(done.result))


def approve(of: ProgramRevision, on: Machine, reason: str = "", state=ApprovalState.APPROVED):
    return approvals.set_approval(
        by=programmer(), submission=uuid4(), revision=of, machine=on, state=state, reason=reason
    )


def withdraw(of: ProgramRevision, on: Machine):
    return approve(of, on, "cuts too deep", ApprovalState.WITHDRAWN)


def approved(on: Machine, **changed) -> ProgramRevision:
    """A program revision whose T5 was confirmed, approved on one machine."""
    made = revision()
    confirm(made, **changed)
    approve(made, on)
    return made


@dataclass
class Scene:
    """One assembly with its label at one machine for one program revision.

    `verdict()` and `decide()` go by the label row as stored at that moment, as a scan does.
    """

    assembly: Assembly
    label: Label
    machine: Machine | None
    revision: ProgramRevision | None

    @classmethod
    def ready(cls, some: Parts | None = None, reason: str = "", **values) -> Scene:
        """Where loading is a MATCH, as long as nothing is changed."""
        assembly, here = released(some, reason, **values), machine()
        return cls(assembly, label_of(assembly), here, approved(here))

    def checked(self, tool_number: int | None = None, label=None) -> spindle.Checked:
        row = Label.objects.select_related("build").get(pk=self.label.pk)
        return spindle.check(
            assembly=again(self.assembly),
            label=label or label_facts(row),
            machine=self.machine and Machine.objects.get(pk=self.machine.pk),
            revision=self.revision and ProgramRevision.objects.get(pk=self.revision.pk),
            tool_number=tool_number,
        )

    def word(self, tool_number: int | None = None, label=None) -> str:
        return self.checked(tool_number, label).word_key

    def codes(self, tool_number: int | None = None, label=None) -> set[str]:
        """Codes of everything that keeps it from a MATCH."""
        found = self.checked(tool_number, label).verdict.findings
        return {f.code for f in found if f.level not in ("pass", "note")}

    def decide(
        self,
        decision: str = Decision.LOADED,
        *,
        by: Person | None = None,
        tool_number: int | None = None,
        label=None,
        submission=None,
        **answer,
    ):
        row = Label.objects.select_related("build").get(pk=self.label.pk)
        answer.setdefault("shown_number", TOOL)
        return spindle.record_decision(
            by=by or operator(),
            submission=submission or uuid4(),
            assembly=self.assembly,
            label=label or label_facts(row),
            machine=self.machine,
            revision=self.revision,
            tool_number=tool_number,
            answer=spindle.Answer(decision=decision, label_code=row.code, **answer),
        )

    def load(self, **answer) -> SpindleCheck:
        return SpindleCheck.objects.get(pk=int(self.decide(**answer).result))

    def refuse(self, reason: str, **answer) -> SpindleCheck:
        done = self.decide(Decision.REFUSED, reason=reason, **answer)
        return SpindleCheck.objects.get(pk=int(done.result))


def written() -> dict[str, list]:
    """Every row that an action of these rooms could write."""
    rooms = [*apps.get_app_config("assemblies").get_models(), Label]
    models = [*rooms, Act, Movement, Piece, Place, Use]
    return {model.__name__: list(model.objects.order_by("pk").values()) for model in models}


def refusal(run, *args, **kwargs) -> Refused:
    """The refusal of an act; proves that it wrote nothing."""
    before = written()
    with pytest.raises(Refused) as refused:
        run(*args, **kwargs)
    assert written() == before
    return refused.value


def code_of(run, *args, **kwargs) -> str:
    return refusal(run, *args, **kwargs).code
