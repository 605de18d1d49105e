"""How hard an assembly tilts the changer's arm."""

from __future__ import annotations

from math import ceil

from assemblies.rules.stack import BuildFigures, MachineFacts
from assemblies.rules.wording import in_nm, in_thousands
from crib.rules.finding import Finding, Level

_MACHINE = "machine maker's limit, as recorded; moment by statics"
#: Standard acceleration of free fall [m/s²]. Source: CGPM 1901, ISO 80000-3.
G_M_S2 = 9.80665


def tilting_moment_mnm(mass_g: int, centre_um: int, plane_um: int) -> float:
    """Tilting moment [mN·m] of a mass [g] about a plane, without its sign.

    `centre_um` [um] is the centre of mass and `plane_um` [um] the plane that the machine's maker
    names, both from the gauge line towards the tip.

    Source: M = m · g · (x - plane), statics.

    >>> round(tilting_moment_mnm(1_590, 43_510, 0))
    678
    >>> round(tilting_moment_mnm(1_590, 43_510, -15_000))
    912
    """
    return abs(mass_g * G_M_S2 * (centre_um - plane_um)) / 1_000_000


def moment_findings(figures: BuildFigures, machine: MachineFacts) -> list[Finding]:
    """Tilting moment against the machine's limit; nothing where the machine names none.

    Only a weighed mass with a weighed centre counts: sums of parts are off by too much.

    Source: the limit is the machine maker's; M = m · g · (x - plane).

    >>> machine = MachineFacts(max_moment_mnm=600, moment_plane_um=0)
    >>> moment_findings(BuildFigures(mass_g=1_590, centre_um=43_510), machine)[0].code
    'envelope.moment_over'
    """
    if machine.max_moment_mnm is None:
        return []
    if machine.moment_plane_um is None:
        text = "Plane of this machine's tilting moment not recorded."
        return [_not_known("envelope.moment_not_known", text, "Enter it with the machine.")]
    if figures.mass_g is None or figures.centre_um is None:
        text = "Assembly not weighed with its centre: tilting moment unknown."
        remedy = "Weigh it, balance it on an edge, and record both."
        return [_not_known("envelope.moment_not_known", text, remedy)]
    moment_mnm = ceil(
        tilting_moment_mnm(figures.mass_g, figures.centre_um, machine.moment_plane_um)
    )
    return [_moment_finding(moment_mnm, machine.max_moment_mnm)]


def _not_known(code: str, text: str, remedy: str) -> Finding:
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=_MACHINE)


def _moment_finding(moment_mnm: int, most_mnm: int) -> Finding:
    over = moment_mnm > most_mnm
    return Finding(
        "envelope.moment_over" if over else "envelope.moment_within",
        Level.STOP_HARD if over else Level.PASS,
        f"Tilting moment {in_thousands(moment_mnm)} N·m. Machine limit {in_thousands(most_mnm)}.",
        measured=in_nm(moment_mnm),
        limit=in_nm(most_mnm),
        unit="N·m",
        remedy="Shorter or lighter, or load it by hand into the spindle." if over else "",
        source=_MACHINE,
    )
