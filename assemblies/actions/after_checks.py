"""After loading: what hands and eyes were said to have done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from assemblies.models import Build, Decision, HandsOnCheck, Measurement, SpindleCheck
from assemblies.rules.cautions import HANDS_ON
from crib.actions.once import Done, do_once
from crib.models import Person
from crib.rules.refusal import Refused

#: A first run higher above the work is a slip of the keyboard [um]. Source: common practice.
HIGHEST_FIRST_RUN_UM = 500_000


@dataclass(frozen=True, slots=True)
class ControlValues:
    """What the control has to hold for one build; None: not known, not to be guessed."""

    gauge_length_um: int | None = None
    diameter_um: int | None = None
    corner_radius_um: int | None = None
    bought_in_inches: bool = False


def values_of(build: Build | None) -> ControlValues:
    """Length and diameter as measured on this build; the radius of the item where none was.

    Not what was entered: a load may have been accepted while the control held old values.
    """
    if build is None:
        return ControlValues()
    read = Measurement.objects.latest_by_quantity(build.pk)
    measured = {name: row.value_um for name, row in read.items()}
    cutter = build.parts.filter(role="cutter").values_list(
        "item__cutter_facts__corner_radius_um", "item__bought_in_inches"
    )
    nominal_radius_um, in_inches = cutter.first() or (None, False)
    return ControlValues(
        gauge_length_um=measured.get("gauge_length"),
        diameter_um=measured.get("diameter"),
        corner_radius_um=measured.get("corner_radius", nominal_radius_um),
        bought_in_inches=in_inches,
    )


def record_hands_on(
    *,
    by: Person,
    submission: UUID,
    spindle_check: SpindleCheck,
    done: Iterable[str] = (),
    offset_entered: bool = False,
    first_run_height_um: int | None = None,
) -> Done:
    """Keep what was said of one load. It is said, not known, and holds nothing up."""
    known = {step.key for step in HANDS_ON}
    ticked = sorted(set(done) & known, key=[step.key for step in HANDS_ON].index)

    def work(act):
        _refuse_what_makes_no_sense(spindle_check, first_run_height_um)
        HandsOnCheck.objects.create(
            spindle_check=spindle_check,
            done=ticked,
            offset_entered=offset_entered,
            first_run_height_um=first_run_height_um,
            act=act,
            by=by,
        )
        act.about = f"assembly {spindle_check.assembly}"
        return spindle_check.pk

    return do_once(
        submission=submission, kind="check.hands_on", by=by, needs="check.decide", work=work
    )


def _refuse_what_makes_no_sense(row: SpindleCheck, height_um: int | None) -> None:
    # Locked, so that two screens cannot both answer for one load.
    SpindleCheck.objects.select_for_update().get(pk=row.pk)
    if row.decision != Decision.LOADED:
        raise Refused("hands_on.not_loaded", "It was not loaded.", "There is nothing to look at.")
    if HandsOnCheck.objects.filter(spindle_check=row).exists():
        raise Refused(
            "hands_on.answered",
            "This load was answered for already.",
            "Scan the label again to check anew.",
        )
    if height_um is not None and height_um > HIGHEST_FIRST_RUN_UM:
        raise Refused(
            "hands_on.height",
            f"{height_um / 1000:.0f} mm above the work is more than any first run.",
            "Look at the unit, as 25 mm or 1 in.",
            field="first_run_height_um",
        )
