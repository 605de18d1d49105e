"""What own lives of one kind of part say, in words."""

from __future__ import annotations

from collections.abc import Sequence

from assemblies.rules.sums.answer import Answer, Line, Table, show_number
from crib.rules.survival import (
    MEDIAN_FROM,
    WEIBULL_FROM,
    Costs,
    Life,
    LifeSummary,
    SurvivalStep,
    Weibull,
    replacement_age,
    summary,
)

_SOURCE = "Kaplan and Meier 1958; NIST/SEMATECH e-Handbook 8.2.1.5 and 8.4.1.3"


def lives_of_own(lives: Sequence[Life], costs: Costs | None) -> Answer:
    """Curve, median and Weibull figures of lives [min], as far as their number allows.

    >>> from crib.rules.survival import LifeEnd
    >>> lives_of_own([Life(81, LifeEnd.WORN)], None).lines[1].text
    'not said: 1 of 5 ended by wear or breakage'
    """
    told = summary(lives)
    counted = f"{told.lives}, of which {told.events} worn or broken"
    lines = [Line("Lives", counted), Line("Median life", _median(told)), *_weibull_lines(told)]
    lines += _planned_lines(told, costs)
    return Answer(
        tuple(lines),
        "S(t) = Π (1 - d / n);  Weibull S(t) = exp(-(t / η)^β)",
        _SOURCE,
        estimate=True,
        notes=_notes(told),
        table=_table(told.steps),
    )


def _median(told: LifeSummary) -> str:
    if told.events < MEDIAN_FROM:
        return f"not said: {told.events} of {MEDIAN_FROM} ended by wear or breakage"
    if told.median is None:
        return "not reached: more than half outlast the longest life that ended"
    return f"{show_number(told.median)} min"


def _weibull_lines(told: LifeSummary) -> list[Line]:
    if told.events < WEIBULL_FROM:
        said = f"not said: {told.events} of {WEIBULL_FROM} ended by wear or breakage"
        return [Line("Weibull curve", said)]
    curve = told.weibull
    if curve is None:
        return [Line("Weibull curve", "not said: the lives are too much alike to settle it")]
    return [
        Line("Weibull shape", f"{show_number(curve.shape, 3)} ± {_error(curve.shape_error)}"),
        Line("Weibull scale", f"{show_number(curve.scale, 3)} ± {_error(curve.scale_error)} min"),
        Line("Mean of the curve", f"{show_number(curve.mean, 3)} min"),
        Line("One in ten has ended at", f"{show_number(curve.age_gone(10), 3)} min"),
    ]


def _error(value: float) -> str:
    return show_number(value, 2)


def _planned_lines(told: LifeSummary, costs: Costs | None) -> list[Line]:
    if costs is None:
        return []
    if told.weibull is None:
        return [Line("Planned change", f"not said: needs {WEIBULL_FROM} worn or broken")]
    return [Line("Planned change", _planned(told.weibull, costs))]


def _planned(curve: Weibull, costs: Costs) -> str:
    best = replacement_age(curve, costs)
    if best is None:
        return "gains nothing: use each until it is worn"
    saved = 100 * (1 - best.cost_rate / best.cost_rate_unplanned)
    return f"at {show_number(best.age, 2)} min, {show_number(saved, 2)} % cheaper than none"


def _notes(told: LifeSummary) -> tuple[str, ...]:
    notes = ["One kind of part, one kind of work. A regrind starts another life."]
    if told.weibull is not None:
        notes.append(f"{told.events} ended lives leave the shape wide open: look at its ±.")
    return tuple(notes)


def _table(steps: Sequence[SurvivalStep]) -> Table | None:
    if not steps:
        return None
    headings = ("Life, min", "Still running", "Ended", "Survive", "95 % limits")
    rows = tuple(
        (
            show_number(step.time),
            str(step.at_risk),
            str(step.events),
            f"{100 * step.survival:.1f} %",
            _limits(step),
        )
        for step in steps
    )
    return Table("Share that survives each life that ended", headings, rows)


def _limits(step: SurvivalStep) -> str:
    if step.low is None:
        return "not computed"
    return f"{100 * step.low:.0f} to {100 * step.high:.0f} %"
