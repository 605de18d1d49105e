"""An assembly on the scale: what it weighs, and where it balances on an edge."""

from __future__ import annotations

from uuid import UUID

from assemblies.actions.build import live_build, refuse_other_revision
from assemblies.models import Assembly, Build, Weighing
from crib.actions.once import Done, do_once
from crib.models import Act, Instrument, Person
from crib.rules.refusal import Refused

#: No assembly that a person lifts is heavier [g]; more is a slip of the keyboard.
MOST_G = 60_000


def record_weighing(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    mass_g: int,
    centre_um: int | None = None,
    measured_with: Instrument | None = None,
    revision: int | None = None,
) -> Done:
    """Add mass [g] and centre [um] of the live build, once it is built. The last one counts.

    `revision` is the one that was weighed: its mass never goes to another one.
    """

    def work(act):
        build = live_build(assembly)
        _check(build, mass_g)
        refuse_other_revision("weigh.other_revision", build, revision)
        Weighing.objects.create(
            act=act,
            by_id=act.by_id,
            build=build,
            mass_g=mass_g,
            centre_um=centre_um,
            measured_with=measured_with,
        )
        act.about = f"assembly {assembly.number}"
        return assembly.number

    return do_once(
        submission=submission, kind="build.weigh", by=by, needs="assembly.build", work=work
    )


def _check(build: Build, mass_g: int) -> None:
    if build.is_draft:
        raise Refused("weigh.draft", f"{build} is not built yet.", "Build it, then weigh it.")
    if not 0 < mass_g <= MOST_G:
        raise Refused(
            "weigh.impossible",
            f"{mass_g} g is no mass of an assembly.",
            "Look at the decimal point.",
            field="mass_g",
        )


def carry_mass(act: Act, build: Build, successor: Build) -> None:
    """Give the mass to the next revision of the same parts, and not the centre.

    What was measured anew had moved; where it balances now nobody has looked.
    """
    old = build.weighings.first()
    if old is not None:
        Weighing.objects.create(
            act=act,
            by_id=act.by_id,
            build=successor,
            mass_g=old.mass_g,
            measured_with_id=old.measured_with_id,
            at=old.at,
        )
