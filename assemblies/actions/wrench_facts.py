"""What the records say of the wrench that a build was, or is to be, tightened with. Reads only."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from assemblies.models import Build
from assemblies.rules.found_out import PastUse, past_use_findings
from assemblies.rules.wrench import setting_finding, unnamed_finding
from crib.actions.instrument_facts import events_of
from crib.models import Calibration, CalibrationResult, Instrument
from crib.rules.calibration import CalibrationEvent, calibration_state, instrument_finding
from crib.rules.finding import Finding


def wrench_findings(build: Build, today: date | None = None) -> list[Finding]:
    """Calibration, range and adapter of the wrench named with `build`.

    A made build is judged by the day on which it was tightened and by what came out afterwards,
    a draft by `today` (now when left out). `torque_mnm` of a build is what the nut got. Nothing
    is said where no torque and no wrench is entered; that costs no query.
    """
    wrench = build.wrench
    if wrench is None:
        # Through an adapter the torque depends on the reach of the wrench, whatever its mark.
        reach = setting_finding(
            build.wrench_mark or "not on record",
            build.torque_mnm,
            None,
            build.adapter_um,
            (None, None),
        )
        unnamed = unnamed_finding(build.torque_mnm, build.wrench_mark)
        return _found(unnamed, reach if build.adapter_um else None)
    today = today or timezone.localdate()
    day = timezone.localdate(build.built_at) if build.built_at else today
    rows = list(Calibration.objects.filter(instrument=wrench).order_by("on", "id"))
    events, late = events_of(rows), [row for row in rows if _came_after(row, build)]
    use = PastUse(wrench.mark, day, tightened=True)
    ranged = (wrench.torque_min_mnm, wrench.torque_max_mnm)
    return _found(
        _standing(build, wrench, _before(rows, late, day), day),
        *past_use_findings(use, events, events_of(late)),
        setting_finding(wrench.mark, build.torque_mnm, wrench.reach_um, build.adapter_um, ranged),
    )


def _found(*findings: Finding | None) -> list[Finding]:
    return [finding for finding in findings if finding is not None]


def _came_after(row: Calibration, build: Build) -> bool:
    """Whether it was written down when the build was tightened already."""
    return build.built_at is not None and row.at > build.built_at


def _before(rows: list[Calibration], late: list[Calibration], day: date) -> list[CalibrationEvent]:
    """Without what found the wrench out later on the same day: it says nothing good of before."""
    out = {row.pk for row in late if row.on == day and row.result != CalibrationResult.PASSED}
    return events_of(row for row in rows if row.pk not in out)


def _standing(
    build: Build, wrench: Instrument, events: list[CalibrationEvent], day: date
) -> Finding:
    """How the wrench stood on `day`, before the pull of this build."""
    state = calibration_state(
        events,
        day,
        months_between=wrench.months_between,
        pulls_between=wrench.pulls_between,
        pulls=_pulls_before(build, events, day) if wrench.pulls_between else None,
    )
    return instrument_finding(wrench.mark, state, is_retired=wrench.is_retired and build.is_draft)


def _pulls_before(build: Build, events: list[CalibrationEvent], day: date) -> int:
    """Builds tightened with this wrench since its last calibration, this one left out.

    A revision that only measured anew counts as well: that is the safe side.
    """
    starts = [e.on for e in events if e.on <= day and e.result in ("passed", "adjusted")]
    if not starts:
        return 0
    pulled = Build.objects.filter(wrench=build.wrench_id, torque_mnm__isnull=False)
    since = pulled.filter(built_at__date__gte=starts[-1]).exclude(pk=build.pk)
    return since.filter(built_at__lt=build.built_at or timezone.now()).count()
