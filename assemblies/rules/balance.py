"""What a balance rating says; the speed it names limits the assembly like any other mark."""

from __future__ import annotations

from assemblies.rules.stack import HolderPart
from crib.rules.finding import Finding, Level

_ISO_21940 = "ISO 21940-11:2016: a grade belongs to a speed"


def balance_findings(holder: HolderPart) -> list[Finding]:
    """Says that a grade without its speed says nothing.

    A rated speed is one of the marks that limit the speed; it is compared there, and nowhere is
    an unbalance worked out and judged.

    Source: ISO 21940-11:2016.

    >>> balance_findings(HolderPart(balance_grade_tenths=63))[0].text
    'Balance G 6.3 without its speed says nothing.'
    >>> balance_findings(HolderPart(balance_grade_tenths=63, balance_rpm=15_000))
    []
    """
    tenths = holder.balance_grade_tenths
    if tenths is None or holder.balance_rpm is not None:
        return []
    text = f"Balance G {tenths / 10:g} without its speed says nothing."
    remedy = "Read the speed of the rating on the holder and record it."
    return [Finding("balance.speed_not_known", Level.NOTE, text, remedy=remedy, source=_ISO_21940)]
