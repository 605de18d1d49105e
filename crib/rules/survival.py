"""How long parts of one kind last, from lives of which some were cut short.

A life that ended by wear or breakage is an event. One that is still in use, was lost or was taken
out early says only that the part lasted at least so long: it is censored. Times may be in any
unit, as long as all are in the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import exp, expm1, gamma, inf, log, sqrt

#: Ended lives of one kind before anything is said, and before a curve is fitted.
MEDIAN_FROM = 5
WEIBULL_FROM = 10
#: Of the standard normal distribution: 95 % lie within.
_Z_95 = 1.959964
#: Shapes outside are no wear that a shop has seen.
_SHAPES = (0.05, 50.0)
#: Beyond this multiple of the hazard hardly a part is left, and no planned age gains anything.
_LAST_HAZARD = 50.0
_STEPS = 200


class LifeEnd(StrEnum):
    """How a life ended. Only worn and broken are events; the others were cut short."""

    WORN = "worn"
    BROKEN = "broken"
    REMOVED_EARLY = "removed_early"
    LOST = "lost"
    IN_USE = "in_use"

    @property
    def is_event(self) -> bool:
        return self in (LifeEnd.WORN, LifeEnd.BROKEN)


@dataclass(frozen=True, slots=True)
class Life:
    """One life: how long it ran, and how it ended. A regrind starts another life."""

    time: float
    end: LifeEnd


@dataclass(frozen=True, slots=True)
class SurvivalStep:
    """One step of the curve: what was still running just before, and the share that survives.

    `low` and `high` are 95 % limits on the log-log scale; None where the last part failed, as no
    spread can be computed there.
    """

    time: float
    at_risk: int
    events: int
    survival: float
    standard_error: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Weibull:
    """A fitted Weibull curve; standard errors from the observed information."""

    shape: float
    scale: float
    log_likelihood: float
    shape_error: float
    scale_error: float

    @property
    def akaike(self) -> float:
        return 4 - 2 * self.log_likelihood

    @property
    def mean(self) -> float:
        return self.scale * gamma(1 + 1 / self.shape)

    @property
    def deviation(self) -> float:
        second = gamma(1 + 2 / self.shape)
        return self.scale * sqrt(second - gamma(1 + 1 / self.shape) ** 2)

    def age_gone(self, gone_percent: float) -> float:
        """Age by which this share has failed; 10 % is the B10 life."""
        return self.scale * (-log(1 - gone_percent / 100)) ** (1 / self.shape)


@dataclass(frozen=True, slots=True)
class Costs:
    """What a planned change costs and what a failure costs, in one currency."""

    planned: float
    failure: float


@dataclass(frozen=True, slots=True)
class ReplacementAge:
    """The planned age that costs least; its cost for a unit of time, and that without a plan."""

    age: float
    cost_rate: float
    cost_rate_unplanned: float


@dataclass(frozen=True, slots=True)
class LifeSummary:
    """What may be said from so many lives. None: too few ended by wear or breakage."""

    lives: int
    events: int
    steps: tuple[SurvivalStep, ...]
    median: float | None
    weibull: Weibull | None


def summary(lives: Sequence[Life]) -> LifeSummary:
    """Curve, median from 5 events on, Weibull from 10 on; less is not enough to say it.

    Source: Kaplan and Meier 1958; the two numbers are a house rule.

    >>> summary([Life(81, LifeEnd.WORN), Life(36, LifeEnd.BROKEN)]).median is None
    True
    """
    steps = tuple(kaplan_meier(lives))
    events = sum(life.end.is_event for life in lives)
    return LifeSummary(
        lives=len(lives),
        events=events,
        steps=steps,
        median=median_life(steps) if events >= MEDIAN_FROM else None,
        weibull=weibull_fit(lives) if events >= WEIBULL_FROM else None,
    )


def kaplan_meier(lives: Sequence[Life]) -> list[SurvivalStep]:
    """The share that survives each age at which something failed.

    A life cut short at such an age counts as still running then. Spread after Greenwood.

    Source: NIST/SEMATECH e-Handbook 8.2.1.5; Greenwood's formula.

    >>> steps = kaplan_meier([Life(10, LifeEnd.WORN), Life(20, LifeEnd.IN_USE)])
    >>> steps[0].at_risk, steps[0].survival
    (2, 0.5)
    """
    steps, survival, spread = [], 1.0, 0.0
    for time in sorted({life.time for life in lives if life.end.is_event}):
        at_risk = sum(life.time >= time for life in lives)
        events = sum(life.time == time and life.end.is_event for life in lives)
        survival *= 1 - events / at_risk
        spread += events / (at_risk * (at_risk - events)) if at_risk > events else inf
        steps.append(_step(time, at_risk, events, survival, spread))
    return steps


def _step(time: float, at_risk: int, events: int, survival: float, spread: float) -> SurvivalStep:
    if survival == 0:
        return SurvivalStep(time, at_risk, events, 0.0, None, None, None)
    width = _Z_95 * sqrt(spread) / abs(log(survival))
    low, high = survival ** exp(width), survival ** exp(-width)
    return SurvivalStep(time, at_risk, events, survival, survival * sqrt(spread), low, high)


def median_life(steps: Sequence[SurvivalStep]) -> float | None:
    """The first age that no more than half survive; None where more than half still run.

    Source: usual reading of the Kaplan-Meier curve.

    >>> median_life(kaplan_meier([Life(10, LifeEnd.WORN), Life(20, LifeEnd.WORN)]))
    10
    """
    # A half made of products like 2/3 * 3/4 misses 0.5 by the last bit.
    return next((step.time for step in steps if step.survival <= 0.5 + 1e-12), None)


def weibull_fit(lives: Sequence[Life]) -> Weibull | None:
    """The Weibull curve of greatest likelihood; None where the lives do not settle its shape.

    Source: NIST/SEMATECH e-Handbook 8.4.1.3, maximum likelihood with censoring.

    >>> weibull_fit([Life(10, LifeEnd.WORN)]) is None
    True
    """
    if any(life.time <= 0 and life.end.is_event for life in lives):
        return None
    # One that has not run yet says nothing.
    lives = [life for life in lives if life.time > 0]
    failed = [log(life.time) for life in lives if life.end.is_event]
    if len(set(failed)) < 2:
        return None
    logs = [log(life.time) for life in lives]
    low, high = _SHAPES
    if _slope(high, logs, failed) < 0:
        return None
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if _slope(middle, logs, failed) < 0:
            low = middle
        else:
            high = middle
    return _fitted((low + high) / 2, logs, failed)


def _slope(shape: float, logs: list[float], failed: list[float]) -> float:
    """Rises with the shape; zero where the likelihood is greatest."""
    longest = max(logs)
    weights = [exp(shape * (value - longest)) for value in logs]
    mean = sum(w * value for w, value in zip(weights, logs, strict=True)) / sum(weights)
    return mean - 1 / shape - sum(failed) / len(failed)


def _fitted(shape: float, logs: list[float], failed: list[float]) -> Weibull:
    longest, events = max(logs), len(failed)
    total = sum(exp(shape * (value - longest)) for value in logs)
    log_scale = longest + log(total / events) / shape
    scale = exp(log_scale)
    likelihood = events * (log(shape) - shape * log_scale) + (shape - 1) * sum(failed) - events
    # Second derivatives at the top, where the powers below sum to the number of events.
    parts = [(exp(shape * (value - log_scale)), value - log_scale) for value in logs]
    by_shape = events / shape**2 + sum(power * value**2 for power, value in parts)
    by_scale = events * shape**2 / scale**2
    by_both = -shape * sum(power * value for power, value in parts) / scale
    room = by_shape * by_scale - by_both**2
    return Weibull(shape, scale, likelihood, sqrt(by_scale / room), sqrt(by_shape / room))


def replacement_age(curve: Weibull, costs: Costs) -> ReplacementAge | None:
    """The age at which a planned change costs least; None where running to failure is as good.

    Only a part that wears (shape above 1) and whose failure costs more than the planned change
    gains anything.

    Source: age replacement after Barlow and Hunter 1960, cost rate for a unit of time.

    >>> round(replacement_age(Weibull(2.5, 1000, 0, 0, 0), Costs(planned=1, failure=5)).age, 2)
    493.05
    """
    if curve.shape <= 1 or costs.failure <= costs.planned:
        return None
    wanted = costs.planned / (costs.failure - costs.planned)
    low, high = 0.0, _LAST_HAZARD
    if _gain(curve, high) < wanted:
        return None
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if _gain(curve, middle) < wanted else (low, middle)
    age = curve.scale * low ** (1 / curve.shape)
    survives = exp(-low)
    cost = costs.planned * survives + costs.failure * (1 - survives)
    return ReplacementAge(age, cost / _running_time(curve, low), costs.failure / curve.mean)


def _gain(curve: Weibull, hazard: float) -> float:
    """Rate of failure times running time, less the share that failed: grows with the age."""
    if hazard == 0:
        return 0.0
    rate = curve.shape / curve.scale * hazard ** (1 - 1 / curve.shape)
    return rate * _running_time(curve, hazard) + expm1(-hazard)


def _running_time(curve: Weibull, hazard: float) -> float:
    """Mean running time up to an age, by the series of the incomplete gamma function."""
    power = 1 / curve.shape
    term = total = 1 / power
    for count in range(1, 1000):
        term *= hazard / (power + count)
        total += term
        if term < total * 1e-16:
            break
    return curve.scale / curve.shape * hazard**power * exp(-hazard) * total
