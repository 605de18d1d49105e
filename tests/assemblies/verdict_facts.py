"""The everyday case as facts, and one way to change a single fact of it."""

from dataclasses import replace
from datetime import date

from assemblies.rules.verdict.facts import (
    Approval,
    AssemblyFacts,
    Change,
    CheckFacts,
    ControlFacts,
    FoundBy,
    Hand,
    LabelFacts,
    LengthRule,
    MachineFacts,
    NumberNames,
    ProgramFacts,
    RequirementFacts,
    SpeedLimitFacts,
    State,
    Stud,
    StudRule,
    ToolCallFacts,
    Turn,
    ZeroAt,
)
from crib.rules.finding import Finding, Level

TODAY = date(2025, 6, 10)
CLOCKWISE = frozenset({Turn.CW})

SPEED_LIMIT = SpeedLimitFacts(limit_rpm=24_000, limiting_part="cutter", unknown_parts=())

COMES_THROUGH = Finding(
    "coolant.through", Level.PASS, "Coolant comes through every part on record."
)

SPIRAL = AssemblyFacts(
    number=1041,
    state=State.RELEASED,
    revision=2,
    rebuilt_on=date(2025, 5, 12),
    holder_mark="H-04",
    interface="ISO 30",
    stud=Stud.FITTED,
    stud_pattern="B",
    cutter_kind="compression",
    diameter_um=12_000,
    nominal_diameter_um=12_000,
    corner_radius_um=500,
    hand=Hand.RIGHT,
    flute_length_um=42_000,
    stickout_um=45_000,
    gauge_length_um=95_000,
    measured_on=date(2025, 5, 12),
    mass_g=900,
    weighed_mass_g=900,
    weighed_centre_um=40_000,
    coolant_wanted=True,
    runout_um=12,
    speed_limit=SPEED_LIMIT,
    coolant=(COMES_THROUGH,),
    seat_compared=True,
    cautions=(),
    condition=(),
)

LABEL = LabelFacts(
    found_by=FoundBy.LABEL,
    assembly_number=1041,
    label_revision=2,
    cancelled=False,
    holder_mark_agrees=True,
)

ROUTER_2 = MachineFacts(
    mark="R2",
    name="Router 2",
    interface="ISO 30",
    stud_rule=StudRule.NEEDED,
    stud_pattern="B",
    change=Change.CHANGER,
    pockets=12,
    number_names=NumberNames.SLOT,
    zero_at=ZeroAt.TOP,
    max_length_um=120_000,
    max_diameter_um=90_000,
    max_mass_g=3_000,
    max_diameter_beside_um=90_000,
    pockets_in_a_ring=True,
    # 0.9 kg at 40 mm from the gauge line tilt by 0.9 x 9.80665 x 0.04 = 0.353 N·m.
    max_moment_mnm=354,
    moment_plane_um=0,
    speed_min_rpm=6_000,
    speed_max_rpm=24_000,
    override_ceiling_percent=100,
    turns=CLOCKWISE,
    touch_off_every_load=False,
)

CABINET_SIDE = ProgramFacts(
    name="HM-0412",
    revision="C",
    approval=Approval.APPROVED,
    approved_revision="C",
    approved_on=date(2025, 6, 3),
    machine_listed=True,
    reading_complete=True,
    tool_numbers=(1, 3, 4),
)


def call(speed_rpm):
    return ToolCallFacts(
        speed_max_rpm=speed_rpm,
        speed_exact=True,
        speed_carried=False,
        turns=CLOCKWISE,
        turns_exact=True,
        deepest_z_um=-22_000,
        depth_exact=True,
    )


def wanted(kind, diameter_um, tolerance_um, length_um, stickout_um, **more):
    least_um, most_um = stickout_um
    return RequirementFacts(
        **{
            "confirmed": True,
            "kind": kind,
            "diameter_um": diameter_um,
            "diameter_tolerance_um": tolerance_um,
            "controller_diameter": False,
            "hand": Hand.RIGHT,
            "stickout_min_um": least_um,
            "stickout_max_um": most_um,
            "length_rule": LengthRule.WINDOW,
            "gauge_length_um": length_um,
            "gauge_tolerance_um": 1_000,
            **more,
        }
    )


WANTED = {
    1: wanted(
        *("compression", 12_000, 50, 95_000, (43_000, 47_000)),
        corner_radius_um=500,
        flute_min_um=40_000,
        preferred_assembly=1041,
        allowed_alternatives=frozenset({1056}),
        text="12MM COMPRESSION",
        fetch="1041, rack B3",
    ),
    3: wanted("spiral_down", 8_000, 50, 82_000, (30_000, 34_000)),
    4: wanted("round_over", 26_000, 100, 88_000, (36_000, 40_000)),
}

EVERYDAY = CheckFacts(
    today=TODAY,
    label=LABEL,
    assembly=SPIRAL,
    machine=ROUTER_2,
    program=CABINET_SIDE,
    tool_number=1,
    calls={1: call(18_000), 3: call(16_000), 4: call(15_000)},
    requirements=WANTED,
    control=ControlFacts(loads=()),
)


def changed(facts, changes):
    """`facts` with `{"assembly.diameter_um": 12051, "call.turns": None}` applied.

    `call`, `requirement` and `speed_limit` mean those of the chosen tool and of the assembly.
    Another assembly comes with its own label, unless the label is changed too.
    """
    if "assembly.number" in changes:
        changes = {"label.assembly_number": changes["assembly.number"], **changes}
    tool = facts.tool_number if facts.tool_number is not None else 1
    for path, value in changes.items():
        part, _, name = path.rpartition(".")
        if not part:
            facts = replace(facts, **{name: value})
        elif part == "call":
            one = {tool: replace(facts.calls[tool], **{name: value})}
            facts = replace(facts, calls={**facts.calls, **one})
        elif part == "requirement":
            one = {tool: replace(facts.requirements[tool], **{name: value})}
            facts = replace(facts, requirements={**facts.requirements, **one})
        elif part == "speed_limit":
            limit = replace(facts.assembly.speed_limit, **{name: value})
            facts = replace(facts, assembly=replace(facts.assembly, speed_limit=limit))
        else:
            facts = replace(facts, **{part: replace(getattr(facts, part), **{name: value})})
    return facts


def codes(verdict):
    return [finding.code for finding in verdict.findings]


def reason_codes(verdict):
    return [finding.code for finding in verdict.reasons]
