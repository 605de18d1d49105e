"""Small stocks for the part finder, and the slow way to search them: every combination tried.

Nothing here is shared with the finder but the front door of the fit rules and the proposed
lengths; which parts belong together and which stack comes first is worked out anew.
"""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

from assemblies.rules.finder.facts import Shelved, Sought, Stock
from assemblies.rules.finder.lengths import length_findings, proposed_figures
from assemblies.rules.fit import stack_findings
from assemblies.rules.stack import (
    HolderPart,
    ProgramCall,
    ShopLimits,
    SleevePart,
    Stack,
    Stage,
    StudPart,
    StudState,
)
from tests.assemblies import stacks
from tests.assemblies.stacks import CUTTER, IN_SERVICE, ROUTER_2, TABLES

LIMITS = ShopLimits()
SOUGHT = Sought(CUTTER, "K", machine=ROUTER_2, call=ProgramCall(18_000))
STUD_B = StudPart(StudState.FITTED, "B")


def shelved(kind: str, part, mark: str, **more) -> Shelved:
    """One marked piece, an item of its own."""
    return Shelved(kind, f"I-{mark}", replace(part, mark=mark), mark=mark, place="RACK 1", **more)


def holder(mark: str = "H-1", **facts) -> Shelved:
    stud = facts.pop("stud", STUD_B)
    return shelved("holder", replace(stacks.HOLDER, **facts), mark, stud=stud)


def collet(mark: str = "C-1", runouts_um=(), **facts) -> Shelved:
    return shelved("collet", replace(stacks.COLLET, **facts), mark, runouts_um=tuple(runouts_um))


def nut(mark: str = "N-1", **facts) -> Shelved:
    return shelved("nut", replace(stacks.NUT, **facts), mark)


def sleeve(mark: str = "S-1", **facts) -> Shelved:
    usual = {"suits": "hydraulic", "outer_um": 20_000, "bore_um": 12_000, "length_um": 45_000}
    return shelved("sleeve", SleevePart(condition=IN_SERVICE, **usual | facts), mark)


def cutter(mark: str = "K-1", **facts) -> Shelved:
    return shelved("cutter", replace(CUTTER, **facts), mark)


def chuck(mark: str = "H-9", **facts) -> Shelved:
    """A holder with an exact bore."""
    usual = {"clamping": "hydraulic", "series": None, "nose_thread": None, "bore_um": 12_000}
    return holder(mark, **usual | facts)


def random_stock(seed: int) -> tuple[Sought, Stock]:
    """A question and a few parts; about half of them do not go together."""
    dice = random.Random(seed)
    shank_um = dice.choice([6_000, 12_000, 12_000, 12_700])
    bare = replace(
        CUTTER,
        shank_um=shank_um,
        shank_form=_mostly(dice, "HA", "HB", None),
        diameter_um=shank_um,
        overall_um=_mostly(dice, 83_000, 70_000, None),
        plain_shank_um=_mostly(dice, 40_000, 30_000, None),
        max_rpm=_mostly(dice, 24_000, 15_000, None),
        marked_grip_um=30_000,
        material="carbide",
    )
    parts = [
        *(_random_holder(dice, n, shank_um) for n in range(dice.randint(1, 4))),
        *(_random_collet(dice, n, shank_um) for n in range(dice.randint(0, 4))),
        *(_random_nut(dice, n) for n in range(dice.randint(0, 3))),
        *(_random_sleeve(dice, n, shank_um) for n in range(dice.randint(0, 2))),
        *(shelved("cutter", bare, f"K-{n}") for n in range(dice.randint(0, 2))),
    ]
    dice.shuffle(parts)
    return replace(
        SOUGHT, cutter=bare, stickout_um=_mostly(dice, 45_000, None, 52_000, 90_000)
    ), Stock(tuple(parts))


def _mostly(dice, usual, *others):
    """The usual value three times out of four."""
    return usual if dice.random() < 0.75 else dice.choice(others)


def _random_holder(dice, n: int, shank_um: int) -> Shelved:
    clamping = dice.choice(["collet", "collet", "collet", "hydraulic", "side_lock", "shrink"])
    facts = {
        "interface": _mostly(dice, "ISO 30 router", "HSK-F63"),
        "clamping": clamping,
        "series": _mostly(dice, "ER32", "er 32", "ER25") if clamping == "collet" else None,
        "nose_thread": _mostly(dice, "M40x1.5", "M32x1.5", None),
        "bore_um": dice.choice([shank_um, 20_000]) if clamping != "collet" else None,
        "bore_depth_um": _mostly(dice, None, 38_000),
        "gauge_length_um": dice.choice([50_000, 60_000, None]),
        "max_rpm": _mostly(dice, 24_000, 12_000, None),
        "stud": _mostly(dice, STUD_B, StudPart(StudState.FITTED, "A"), StudPart()),
    }
    return holder(f"H-{n}", **facts)


def _random_collet(dice, n: int, shank_um: int) -> Shelved:
    largest_um = shank_um + _mostly(dice, 0, 300, 700, -350, 6_000)
    return collet(
        f"C-{n}",
        runouts_um=[dice.randint(2, 30) for _ in range(dice.randint(0, 3))],
        series=_mostly(dice, "ER32", "ER25"),
        clamp_max_um=largest_um,
        clamp_min_um=largest_um - 1_000,
        hours=_mostly(dice, 0, 510, 900),
    )


def _random_nut(dice, n: int) -> Shelved:
    return nut(
        f"N-{n}",
        series=_mostly(dice, "ER32", "ER25"),
        thread=_mostly(dice, "M40x1.5", "M32x1.5", None),
    )


def _random_sleeve(dice, n: int, shank_um: int) -> Shelved:
    return sleeve(
        f"S-{n}",
        suits=_mostly(dice, "hydraulic", "side_lock"),
        outer_um=_mostly(dice, 20_000, 25_000),
        bore_um=_mostly(dice, shank_um, 5_000),
        length_um=_mostly(dice, 45_000, None),
    )


def every_stack(sought: Sought, stock: Stock) -> list[tuple[str, ...]]:
    """Marks of every whole stack without a stop, best first: all combinations, one by one."""
    by_kind: dict[str, list[Shelved | None]] = {}
    for part in stock.on_shelf:
        by_kind.setdefault(part.kind, []).append(part)
    pools = [by_kind.get(kind, []) for kind in ("holder", "collet", "nut", "sleeve", "cutter")]
    pools = [pools[0], [None, *pools[1]], [None, *pools[2]], [None, *pools[3]], pools[4]]
    ranked = []
    for combination in itertools.product(*pools):
        if _is_whole(*combination):
            rank = _judged(sought, *combination)
            ranked += [] if rank is None else [rank]
    return [marks for _, marks in sorted(ranked)]


def _is_whole(held, collet_in, nut_on, sleeve_in, tool) -> bool:
    """Whether nothing is missing and nothing is too much for the way of clamping."""
    part: HolderPart = held.part
    if part.clamping == "collet":
        return collet_in is not None and nut_on is not None and sleeve_in is None
    if collet_in is not None or nut_on is not None:
        return False
    reduced = part.takes_a_sleeve and part.bore_um is not None and tool.part.shank_um < part.bore_um
    return reduced if sleeve_in is not None else True


def _judged(sought: Sought, held, collet_in, nut_on, sleeve_in, tool):
    """Rank and marks of one combination; None where the bench would stop it."""
    chosen = [held, collet_in, nut_on, sleeve_in, tool]
    part = {each.kind: each.part for each in chosen if each is not None}
    stack = Stack(**part, stud=held.stud, machine=sought.machine, call=sought.call)
    stack = replace(stack, figures=proposed_figures(stack, sought.stickout_um, LIMITS, TABLES))
    said = [
        f
        for f in stack_findings(stack, LIMITS, Stage.BUILD, TABLES)
        + length_findings(stack, sought.stickout_um, LIMITS)
        if f.code != "rotation.program_not_known"
    ]
    levels = [str(f.level) for f in said]
    if "stop_soft" in levels or "stop_hard" in levels:
        return None
    unknown = levels.count("unknown")
    closing_um = collet_in.part.clamp_max_um - tool.part.shank_um if collet_in else 0
    far = 10**9
    length_um = held.part.gauge_length_um, stack.figures.stickout_um
    gauge_um = far if None in length_um else sum(length_um)
    read = sorted(collet_in.runouts_um) if collet_in else []
    runout_um = far
    if read:
        middle = len(read) // 2
        pair = read[middle] + read[middle if len(read) % 2 else middle - 1]
        runout_um = -(-pair // 2)
    marks = tuple(each.mark for each in chosen if each is not None)
    named = tuple((each.kind, each.mark) for each in chosen if each is not None)
    doubts = unknown + levels.count("check")
    return (doubts, unknown, closing_um, gauge_um, runout_um, named), marks
