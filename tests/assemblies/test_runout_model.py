"""The additive model of runout: against published figures, and against a plain least squares.

Outside: the dyestuff yields of O. L. Davies and P. L. Goldsmith, Statistical Methods in Research
and Production, 4th ed. 1972, section 6.4, which the texts on mixed models have used ever since.
"""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from assemblies.rules.runout_by_part.graph import Part, told_apart
from assemblies.rules.runout_by_part.model import (
    HUBER_K,
    LEAST_WITHIN,
    Variances,
    estimate_variances,
    fit,
    solve,
    solve_robust,
)

# ---- published: six batches of five yields
DYESTUFF = {
    "A": [1545, 1440, 1440, 1520, 1580],
    "B": [1540, 1555, 1490, 1560, 1495],
    "C": [1595, 1550, 1605, 1510, 1560],
    "D": [1445, 1440, 1595, 1465, 1545],
    "E": [1595, 1630, 1515, 1635, 1625],
    "F": [1520, 1455, 1450, 1480, 1445],
}
YIELDS = np.array([float(one) for batch in DYESTUFF.values() for one in batch])
BATCHES = np.kron(np.eye(6), np.ones((5, 1)))


def test_dyestuff_by_maximum_likelihood():
    # -2 log likelihood 327.3271: printed in the public test suites of mixed-model packages.
    # The two variances: from memory of the same texts.
    found = estimate_variances(YIELDS, BATCHES, restricted=False)
    assert found.minus_two_log_likelihood == pytest.approx(327.3271, abs=5e-4)
    assert found.between == pytest.approx(1388.33, abs=0.01)
    assert found.within == pytest.approx(2451.25, abs=0.01)


def test_dyestuff_by_restricted_maximum_likelihood():
    # For batches of one size these are the classic figures of the analysis of variance:
    # 2451.25 within, (11271.5 - 2451.25) / 5 between; the criterion 319.6543 is from memory.
    found = estimate_variances(YIELDS, BATCHES)
    assert found.between == pytest.approx(1764.05, abs=0.01)
    assert found.within == pytest.approx(2451.25, abs=0.01)
    # Ours leaves out the constant of the mean, the logarithm of the number of readings.
    assert found.minus_two_log_likelihood + log(30) == pytest.approx(319.6543, abs=5e-4)


def test_dyestuff_batches_are_drawn_towards_the_mean():
    # From memory of the same texts; shrinkage 5 · 1764.05 / (5 · 1764.05 + 2451.25) = 0.78253.
    found = solve(YIELDS, BATCHES, estimate_variances(YIELDS, BATCHES), np.ones(30))
    wanted = [-17.607, 0.391, 28.562, -23.085, 56.733, -44.995]
    assert found.effects == pytest.approx(wanted, abs=1e-3)
    means = YIELDS.reshape(6, 5).mean(axis=1) - YIELDS.mean()
    assert found.effects / means == pytest.approx(np.full(6, 0.78253), abs=1e-5)


def test_the_variances_found_are_the_most_likely_ones():
    """The likelihood written out in full, as in a textbook, is worse on every side."""
    best = estimate_variances(YIELDS, BATCHES, restricted=False)

    def value(between: float, within: float) -> float:
        whole = within * np.eye(30) + between * BATCHES @ BATCHES.T
        off = YIELDS - YIELDS.mean()
        weight = np.linalg.slogdet(whole)[1] + off @ np.linalg.solve(whole, off)
        return 30 * log(2 * np.pi) + weight

    least = value(best.between, best.within)
    assert least == pytest.approx(best.minus_two_log_likelihood)
    for factor_between, factor_within in ((0.98, 1), (1.02, 1), (1, 0.98), (1, 1.02)):
        assert value(best.between * factor_between, best.within * factor_within) > least


# ---- three holders with each of four collets, runout [um]; worked apart from the project
TABLE = np.array([[7.0, 8, 15, 9], [9, 11, 18, 10], [12, 13, 21, 15]])
CROSSED = np.hstack([np.kron(np.eye(3), np.ones((4, 1))), np.tile(np.eye(4), (3, 1))])
HOLDERS, COLLETS = slice(0, 3), slice(3, 7)
C3 = 5


def plain(readings: np.ndarray, variances: Variances, levels: np.ndarray = CROSSED):
    return solve(readings.ravel(), levels, variances, np.ones(readings.size))


def test_without_shrinkage_it_is_least_squares():
    found = plain(TABLE, Variances(1e9, 1))
    assert found.mean == pytest.approx(12.3333, abs=1e-4)
    assert found.effects[HOLDERS] == pytest.approx([-2.5833, -0.3333, 2.9167], abs=1e-4)
    assert found.effects[COLLETS] == pytest.approx([-3.0, -1.6667, 5.6667, -1.0], abs=1e-4)
    # The pseudo-inverse leaves the same residuals: 6 degrees of freedom, variance 0.47222.
    design = np.column_stack([np.ones(12), CROSSED])
    free = TABLE.ravel() - design @ np.linalg.pinv(design) @ TABLE.ravel()
    off = TABLE.ravel() - found.mean - CROSSED @ found.effects
    assert off == pytest.approx(free, abs=1e-5)
    assert free @ free / (12 - np.linalg.matrix_rank(design)) == pytest.approx(0.47222, abs=1e-5)


def test_the_rank_is_one_mean_and_one_less_than_the_parts_of_each_kind():
    builds = [
        (Part("holder", f"H{h}"), Part("collet", f"C{c}")) for h in range(3) for c in range(4)
    ]
    assert told_apart(builds) == (6, 6)


def test_random_effects_of_the_worked_table():
    found = plain(TABLE, Variances(9, 1))
    assert found.mean == pytest.approx(12.3333, abs=1e-4)
    assert found.effects[HOLDERS] == pytest.approx([-2.5135, -0.3243, 2.8378], abs=1e-4)
    assert found.effects[COLLETS] == pytest.approx([-2.8929, -1.6071, 5.4643, -0.9643], abs=1e-4)
    errors = np.sqrt(np.diag(found.covariance))
    assert errors[HOLDERS] == pytest.approx([1.7782] * 3, abs=1e-4)
    assert errors[COLLETS] == pytest.approx([1.5783] * 4, abs=1e-4)
    assert found.shares[HOLDERS] == pytest.approx([0.6486] * 3, abs=1e-4)
    assert found.shares[COLLETS] == pytest.approx([0.7232] * 4, abs=1e-4)


def test_a_contrast_against_the_own_kind_is_sharper():
    found = plain(TABLE, Variances(9, 1))
    assert found.contrast(C3, [3, 4, 6]) == pytest.approx((7.2857, 0.6547), abs=1e-4)
    free = plain(TABLE, Variances(1e9, 1))
    assert free.contrast(C3, [3, 4, 6])[0] == pytest.approx(7.5556, abs=1e-4)
    with pytest.raises(ValueError, match="nothing to compare"):
        found.contrast(C3, [])


def test_one_wrong_reading_moves_a_holder_unless_it_is_weighed():
    wrong = TABLE.copy()
    wrong[1, 0] = 29
    assert plain(wrong, Variances(9, 1)).effects[1] == pytest.approx(2.9189, abs=1e-4)
    found = solve_robust(wrong.ravel(), CROSSED, Variances(9, 1))
    assert found.mean == pytest.approx(12.6111, abs=1e-3)
    assert found.effects[HOLDERS] == pytest.approx([-2.7838, 0.2162, 2.5676], abs=1e-3)
    assert found.effects[COLLETS] == pytest.approx([-2.2078, -1.8750, 5.1965, -1.1136], abs=1e-3)
    assert found.weights[4] == pytest.approx(0.073, abs=1e-3)


def test_the_constant_of_the_weights_is_the_usual_one():
    assert HUBER_K == 1.345


def test_confounded_parts_share_what_they_add():
    levels = np.repeat([[1.0, 0, 1, 0], [0, 1, 0, 1]], 4, axis=0)
    found = plain(np.array([7.0, 8, 7, 8, 15, 16, 15, 14]), Variances(9, 1), levels)
    assert found.effects == pytest.approx([-1.8493, 1.8493, -1.8493, 1.8493], abs=1e-4)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx([2.604] * 4, abs=1e-3)
    assert found.shares == pytest.approx([0.2466] * 4, abs=1e-4)


# ---- what must hold whatever the readings
def test_a_shift_of_all_readings_moves_the_mean_only():
    here, there = fit(TABLE.ravel(), CROSSED), fit(TABLE.ravel() + 100, CROSSED)
    assert there.mean - here.mean == pytest.approx(100, abs=1e-6)
    assert there.effects == pytest.approx(here.effects, abs=1e-6)


def test_another_order_of_readings_and_parts_changes_nothing():
    rng = np.random.default_rng(7)
    rows, columns = rng.permutation(12), rng.permutation(7)
    here, there = fit(TABLE.ravel(), CROSSED), fit(TABLE.ravel()[rows], CROSSED[rows][:, columns])
    assert there.effects == pytest.approx(here.effects[columns], abs=1e-6)


@pytest.mark.parametrize("readings", [[9.0] * 12, [9.0, 10.0] * 6])
def test_where_parts_do_not_differ_nothing_is_added_by_any(readings):
    found = fit(np.array(readings), np.kron(np.eye(3), np.ones((4, 1))))
    assert found.effects == pytest.approx([0, 0, 0], abs=1e-6)
    assert found.shares == pytest.approx([0, 0, 0], abs=1e-6)


def test_readings_that_agree_too_well_are_no_surer_than_their_rounding():
    exact = np.array([7.0, 7, 7, 15, 15, 15])
    found = estimate_variances(exact, np.kron(np.eye(2), np.ones((3, 1))))
    assert found.within == LEAST_WITHIN


def test_a_wild_reading_does_not_widen_the_spread_of_the_others():
    rng = np.random.default_rng(3)
    levels = np.kron(np.eye(10), np.ones((8, 1)))
    readings = 12 + levels @ rng.normal(0, 3, 10) + rng.normal(0, 1, 80)
    clean = fit(readings, levels)
    readings[5] += 60
    dirty = fit(readings, levels)
    assert dirty.variances.within == pytest.approx(clean.variances.within, rel=0.2)
    assert dirty.effects == pytest.approx(clean.effects, abs=0.6)
    assert dirty.weights[5] < 0.1


def test_one_reading_has_no_variance():
    with pytest.raises(ValueError, match="two readings"):
        estimate_variances(np.array([7.0]), np.ones((1, 1)))
