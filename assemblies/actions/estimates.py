"""From rows to the facts that estimates look at. Reads only."""

from __future__ import annotations

from django.db.models import Sum

from assemblies.actions.shop_limits import current_limits
from assemblies.actions.stack_facts import parts_of, stack_of
from assemblies.models import Build, BuildPart, ToolRequirement, ToolUse
from assemblies.rules.stack import ShopLimits, Stack
from assemblies.rules.sums.estimates import (
    Estimate,
    EstimateFacts,
    LifeSoFar,
    ProgramCut,
    estimates,
)
from crib.models import Use
from crib.models.life import Basis

#: Parts that wear by working.
_WEARING = ("collet", "cutter")


def estimates_of(
    build: Build,
    call: ProgramCut | None = None,
    *,
    stack: Stack | None = None,
    parts: dict[str, BuildPart] | None = None,
    limits: ShopLimits | None = None,
) -> list[Estimate]:
    """What may be estimated of a build; none for one without a cutter.

    `call` is how a program cuts with it; without one it is that of the tool number it is built
    for. Stack, parts and limits are read where the page does not hand them in.
    """
    stack = stack or stack_of(build)
    if stack.cutter is None:
        return []
    parts = parts_of(build) if parts is None else parts
    wanted = build.meant_for
    cut = call or (cut_of(wanted) if wanted else None)
    compared_um, compared_with = _compared(build, wanted, parts["cutter"])
    facts = EstimateFacts(
        kind=stack.cutter.kind,
        has_bore=stack.cutter.bore_um is not None,
        diameter_um=stack.figures.diameter_um or stack.cutter.diameter_um,
        shank_um=stack.cutter.shank_um,
        teeth=stack.cutter.teeth,
        stickout_um=stack.figures.stickout_um,
        compared_um=compared_um,
        compared_with=compared_with,
        runout_um=stack.figures.runout_um,
        cut=cut,
        lives=_lives(parts, limits or current_limits()),
    )
    return estimates(facts)


def cut_of(wanted: ToolRequirement) -> ProgramCut | None:
    """How a program cuts under the tool number of a requirement; None where it never calls it.

    Machines may read it in several ways: the fastest feed and the slowest speed of all count.
    """
    read = ToolUse.objects.filter(reading__revision_id=wanted.revision_id)
    uses = list(read.filter(tool_number=wanted.tool_number))
    if not uses:
        return None
    return ProgramCut(
        name=f"T{wanted.tool_number} in {wanted.revision}",
        speed_max_rpm=_of(max, uses, "spindle_speed_max_rpm"),
        speed_min_rpm=_of(min, uses, "spindle_speed_min_rpm"),
        feed_max_mm_min=_of(max, uses, "feed_max_mm_min"),
        feed_per_turn_mm=_per_turn(uses),
        exact=all(_is_exact(use) for use in uses),
    )


def _of(choose, uses: list[ToolUse], name: str):
    return choose((n for use in uses if (n := getattr(use, name)) is not None), default=None)


def _per_turn(uses: list[ToolUse]) -> float | None:
    found = [use.details.get("feed_per_revolution_max") for use in uses]
    return max((n for n in found if n is not None), default=None)


def _is_exact(use: ToolUse) -> bool:
    exact = use.details.get("exact", {})
    return use.speed_exact and exact.get("feed_rate_max", False)


def _compared(
    build: Build, wanted: ToolRequirement | None, cutter: BuildPart
) -> tuple[int | None, str]:
    """The stick-out to compare with [um], and its name: the shortest allowed, or that before."""
    if wanted is not None and wanted.stickout_min_um:
        return wanted.stickout_min_um, f"shortest that T{wanted.tool_number} allows"
    before = Build.objects.filter(
        assembly=build.assembly_id,
        revision__gt=0,
        stickout_um__gt=0,
        # Another cutter bends in another way: only the same one can be compared.
        parts__role="cutter",
        parts__item=cutter.item_id,
    ).exclude(pk=build.pk)
    if not build.is_draft:
        before = before.filter(revision__lt=build.revision)
    last = before.order_by("-revision").first()
    return (last.stickout_um, f"revision {last.revision_text}") if last else (None, "")


def _lives(parts: dict[str, BuildPart], limits: ShopLimits) -> tuple[LifeSoFar, ...]:
    """Minutes of the marked parts that wear, in one query."""
    marked = {role: parts[role] for role in _WEARING if role in parts and parts[role].piece}
    pieces = [part.piece_id for part in marked.values()]
    rows = Use.objects.filter(piece__in=pieces).order_by().values("piece", "basis")
    minutes: dict[int, dict[str, int]] = {}
    for row in rows.annotate(n=Sum("minutes")):
        minutes.setdefault(row["piece"], {})[row["basis"]] = row["n"]
    return tuple(
        _life(role, part, minutes.get(part.piece_id, {}), limits) for role, part in marked.items()
    )


def _life(role: str, part: BuildPart, by_basis: dict[str, int], limits: ShopLimits) -> LifeSoFar:
    return LifeSoFar(
        part=f"{role} {part.piece.mark}",
        used_minutes=sum(by_basis.values()) if by_basis else None,
        limit_minutes=_limit_minutes(role, part, limits),
        basis=tuple(Basis(name).label for name in sorted(by_basis)),
    )


def _limit_minutes(role: str, part: BuildPart, limits: ShopLimits) -> int | None:
    """What is recorded with the item; for a collet else the hours of the shop."""
    own = getattr(part.item.facts, "life_limit_minutes", None)
    if own is not None or role != "collet" or limits.collet_hours_limit is None:
        return own
    return limits.collet_hours_limit * 60
