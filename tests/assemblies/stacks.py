"""One everyday stack as facts, and the reference tables, for the tests of the fit rules."""

from dataclasses import replace

from assemblies.rules.stack import (
    BuildFigures,
    ColletPart,
    Condition,
    CutterPart,
    HolderPart,
    MachineFacts,
    NutPart,
    ProgramCall,
    Stack,
    StudPart,
    StudState,
)
from crib.reference import tables

TABLES = tables()
IN_SERVICE = Condition.IN_SERVICE

HOLDER = HolderPart(
    mark="H-04",
    interface="ISO 30 router",
    clamping="collet",
    series="ER32",
    nose_thread="M40x1.5",
    gauge_length_um=50_000,
    max_rpm=24_000,
    mass_g=600,
    condition=IN_SERVICE,
)
COLLET = ColletPart(
    mark="C-06",
    series="ER32",
    clamp_max_um=12_000,
    clamp_min_um=11_000,
    length_um=40_000,
    hours=330,
    hours_limit=500,
    mass_g=100,
    condition=IN_SERVICE,
)
NUT = NutPart(
    mark="N-01",
    series="ER32",
    thread="M40x1.5",
    nut_type="standard",
    max_rpm=24_000,
    mass_g=140,
    condition=IN_SERVICE,
)
STUD = StudPart(StudState.FITTED, "B")
CUTTER = CutterPart(
    mark="K-01",
    kind="compression",
    diameter_um=12_000,
    shank_um=12_000,
    plain_shank_um=40_000,
    overall_um=83_000,
    flute_um=42_000,
    max_rpm=24_000,
    hand="right",
    mass_g=120,
    insert_seats=0,
    condition=IN_SERVICE,
)
FIGURES = BuildFigures(
    stickout_um=45_000,
    grip_um=38_000,
    torque_mnm=136_000,
    gauge_length_um=95_000,
    diameter_um=12_000,
    runout_um=12,
)
ROUTER_2 = MachineFacts(
    mark="R2",
    interface="ISO 30 router",
    stud_pattern="B",
    max_rpm=24_000,
    min_rpm=6_000,
    rotations=frozenset({"cw"}),
    is_router=True,
    max_gauge_length_um=120_000,
    max_diameter_um=90_000,
    max_mass_g=4_000,
)
#: Assembly 1041 in Router 2 for T1 of HM-0412: everything agrees.
STACK = Stack(
    holder=HOLDER,
    collet=COLLET,
    nut=NUT,
    stud=STUD,
    cutter=CUTTER,
    figures=FIGURES,
    machine=ROUTER_2,
    call=ProgramCall(18_000, "cw"),
)


def stack(**changes) -> Stack:
    """The everyday stack with whole parts replaced."""
    return replace(STACK, **changes)


def levels(findings) -> dict[str, str]:
    """Code -> level of findings, for comparing with a table."""
    return {finding.code: str(finding.level) for finding in findings}


def troubles(findings) -> dict[str, str]:
    """Code -> level of everything that is neither a pass nor a note."""
    return {f.code: str(f.level) for f in findings if str(f.level) not in ("pass", "note")}
