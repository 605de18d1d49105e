"""How long parts last: curve, median, Weibull and the age to change at.

The figures of the NIST/SEMATECH e-Handbook stand in `tests/assemblies/test_formulae_checks.py`;
here are the edges, and what must hold whatever the lives are.
"""

from __future__ import annotations

from math import exp, isclose, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crib.rules.survival import (
    Costs,
    Life,
    LifeEnd,
    Weibull,
    kaplan_meier,
    median_life,
    replacement_age,
    summary,
    weibull_fit,
)

TIMES = st.integers(min_value=1, max_value=10_000)
LIVES = st.lists(st.builds(Life, TIMES, st.sampled_from(LifeEnd)), max_size=40)
#: NIST/SEMATECH e-Handbook 8.4.1.3.
NIST = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]


def ended(*times, end=LifeEnd.WORN):
    return [Life(time, end) for time in times]


@pytest.mark.parametrize(
    ("end", "events"),
    [
        (LifeEnd.WORN, 1),
        (LifeEnd.BROKEN, 1),
        (LifeEnd.REMOVED_EARLY, 0),
        (LifeEnd.LOST, 0),
        (LifeEnd.IN_USE, 0),
    ],
)
def test_only_worn_and_broken_end_a_life(end, events):
    assert summary([Life(10, end)]).events == events
    assert len(kaplan_meier([Life(10, end)])) == events


@pytest.mark.parametrize(
    ("events", "median", "weibull"),
    [(4, False, False), (5, True, False), (9, True, False), (10, True, True)],
)
def test_a_median_needs_five_ended_lives_and_a_curve_ten(events, median, weibull):
    told = summary(ended(*NIST[:events]))
    assert (told.median is not None, told.weibull is not None) == (median, weibull)


def test_lives_that_were_cut_short_do_not_count_towards_the_five():
    assert summary(ended(1, 2, 3, 4) + ended(*range(5, 50), end=LifeEnd.IN_USE)).median is None


def test_no_lives_say_nothing():
    told = summary([])
    assert (told.lives, told.steps, told.median, told.weibull) == (0, (), None, None)


def test_the_median_is_not_reached_while_more_than_half_still_run():
    lives = ended(10, 20, 30, 40, 50) + ended(*[60] * 6, end=LifeEnd.IN_USE)
    assert summary(lives).median is None
    assert summary(lives[:-1]).median == 50


def test_a_life_cut_short_at_an_event_was_still_running_then():
    steps = kaplan_meier(ended(5) + ended(5, 6, end=LifeEnd.LOST))
    assert [(step.at_risk, step.events) for step in steps] == [(3, 1)]


def test_the_limits_of_the_last_step_are_those_of_the_log_log_scale():
    """NIST e-Handbook 8.2.1.5; limits worked out by hand from its at-risk counts."""
    cut_short = [50, 100, 125, 150, *[200] * 10]
    lives = ended(10, 32, 56, 98, 122, 181) + ended(*cut_short, end=LifeEnd.IN_USE)
    last = kaplan_meier(lives)[-1]
    assert (round(last.low, 3), round(last.high, 3)) == (0.403, 0.838)


def test_where_the_last_part_failed_no_spread_is_claimed():
    last = kaplan_meier(ended(1, 2))[-1]
    assert (last.survival, last.standard_error, last.low, last.high) == (0, None, None, None)


@given(LIVES)
def test_the_curve_only_falls_and_stays_a_share(lives):
    shares = [step.survival for step in kaplan_meier(lives)]
    assert shares == sorted(shares, reverse=True)
    assert all(0 <= share < 1 for share in shares)


@given(st.lists(TIMES, min_size=1, max_size=40))
def test_without_censoring_the_curve_is_the_share_that_lasted_longer(times):
    for step in kaplan_meier(ended(*times)):
        longer = sum(time > step.time for time in times)
        assert isclose(step.survival, longer / len(times), abs_tol=1e-9)


@given(LIVES)
def test_the_order_of_the_lives_changes_nothing(lives):
    assert summary(lives).steps == summary(lives[::-1]).steps
    assert median_life(kaplan_meier(lives)) == median_life(kaplan_meier(lives[::-1]))


@pytest.mark.parametrize("times", [[], [7], [7, 7, 7, 7]])
def test_lives_that_do_not_settle_a_shape_give_no_curve(times):
    assert weibull_fit(ended(*times)) is None


def test_the_errors_of_the_nist_curve_are_as_wide_as_ten_failures_leave_them():
    curve = weibull_fit(ended(*NIST) + ended(*[500] * 10, end=LifeEnd.IN_USE))
    assert round(curve.shape_error, 3) == 0.502
    assert round(curve.scale_error, 1) == 124.9
    assert round(curve.age_gone(10), 1) == 164.0


@given(st.lists(TIMES, min_size=3, max_size=30, unique=True), st.sampled_from([0.5, 60, 1000]))
def test_another_unit_of_time_changes_the_scale_and_nothing_else(times, factor):
    one = weibull_fit(ended(*times))
    other = weibull_fit(ended(*[time * factor for time in times]))
    if one is None or other is None:
        # Lives that are nearly alike have no shape below the bound in either unit.
        assert max(times) / min(times) < 2
        return
    assert isclose(one.shape, other.shape, rel_tol=1e-6)
    assert isclose(one.scale * factor, other.scale, rel_tol=1e-6)


def test_the_fitted_curve_is_more_likely_than_its_neighbours():
    curve = weibull_fit(ended(*NIST))
    for shape, scale in ((1.05, 1), (0.95, 1), (1, 1.05), (1, 0.95)):
        near = likelihood(NIST, curve.shape * shape, curve.scale * scale)
        assert near < curve.log_likelihood
    assert isclose(likelihood(NIST, curve.shape, curve.scale), curve.log_likelihood)


def likelihood(times, shape, scale):
    """The density itself, product by product: another way than the rule's."""
    return sum(
        log(shape / scale * (time / scale) ** (shape - 1) * exp(-((time / scale) ** shape)))
        for time in times
    )


@pytest.mark.parametrize(
    ("shape", "planned", "failure"), [(1.0, 1, 5), (0.8, 1, 5), (2.5, 5, 5), (2.5, 6, 5)]
)
def test_a_planned_change_that_gains_nothing_is_not_offered(shape, planned, failure):
    assert replacement_age(Weibull(shape, 1000, 0, 0, 0), Costs(planned, failure)) is None


@pytest.mark.parametrize("shape", [1.2, 2.5, 6.0])
def test_the_planned_age_costs_less_than_ages_near_it(shape):
    curve, costs = Weibull(shape, 1000, 0, 0, 0), Costs(1, 5)
    best = replacement_age(curve, costs)
    assert best.cost_rate < best.cost_rate_unplanned
    assert isclose(best.cost_rate, cost_rate(curve, costs, best.age), rel_tol=1e-4)
    for factor in (0.9, 1.1):
        assert cost_rate(curve, costs, best.age * factor) > best.cost_rate


def cost_rate(curve, costs, age):
    """The cost of a unit of time by a plain sum over the curve."""
    steps = 4000
    parts = [exp(-(((n + 0.5) * age / steps / curve.scale) ** curve.shape)) for n in range(steps)]
    survives = exp(-((age / curve.scale) ** curve.shape))
    cost = costs.planned * survives + costs.failure * (1 - survives)
    return cost / (sum(parts) * age / steps)


def test_a_life_that_has_not_begun_says_nothing_and_breaks_nothing():
    idle = [Life(0, LifeEnd.IN_USE)]
    assert weibull_fit(ended(*NIST) + idle) == weibull_fit(ended(*NIST))


def test_a_part_that_failed_at_once_settles_no_curve():
    assert weibull_fit(ended(0, *NIST)) is None


def test_the_curve_of_a_second_published_set():
    # 6-MP arm of Freireich et al. 1963, as printed in textbooks of survival, from memory:
    # 0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448; median 23.
    events = ended(6, 6, 6, 7, 10, 13, 16, 22, 23)
    cut_short = ended(6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35, end=LifeEnd.IN_USE)
    steps = kaplan_meier(events + cut_short)
    assert [round(step.survival, 3) for step in steps] == [
        0.857,
        0.807,
        0.753,
        0.690,
        0.627,
        0.538,
        0.448,
    ]
    assert median_life(steps) == 23
