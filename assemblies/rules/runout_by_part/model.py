"""Which part raises the runout, from all builds at once: the arithmetic.

Each reading is a mean, plus what each part of the build adds, plus chance. What parts add is
drawn towards zero, the more the less is known of a part: else the largest figure would belong to
the part with the fewest readings. Arrays in, dataclasses out; `between` and `within` are variances
of parts and of single readings, in the square of the readings' unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, pi

import numpy as np

#: A reading to whole micrometres is never surer than this variance of its rounding [um²].
LEAST_WITHIN = 1 / 12
#: Residuals beyond this many standard deviations pull less (P. J. Huber: 95 % efficiency).
HUBER_K = 1.345
#: A reading that pulls less than this is left out when the two variances are estimated. Own choice.
LEAST_WEIGHT = 0.5
_ROUNDS = 50
#: Ratios of the two variances that are tried first; the best is then narrowed down.
_GRID = np.concatenate([[0.0], np.logspace(-3, 4, 57)])
_NARROWINGS = 40
_GOLDEN = (5**0.5 - 1) / 2


@dataclass(frozen=True, slots=True)
class Variances:
    """Of what parts add (`between`) and of single readings (`within`)."""

    between: float
    within: float
    minus_two_log_likelihood: float | None = None


@dataclass(frozen=True, slots=True)
class Effects:
    """The mean, what each level adds to it, how sure that is, and how much each reading pulls."""

    mean: float
    effects: np.ndarray
    covariance: np.ndarray
    weights: np.ndarray
    variances: Variances

    @property
    def shares(self) -> np.ndarray:
        """How much of a level's own variance the readings have settled: 0 nothing, 1 all."""
        if self.variances.between == 0:
            return np.zeros(len(self.effects))
        return 1 - np.diag(self.covariance) / self.variances.between

    def contrast(self, of: int, others: list[int]) -> tuple[float, float]:
        """A level against the mean of others, and its standard error.

        Raises ValueError without others.
        """
        if not others:
            raise ValueError("nothing to compare with")
        row = np.zeros(len(self.effects))
        row[of] = 1
        row[others] = -1 / len(others)
        return float(row @ self.effects), float(row @ self.covariance @ row) ** 0.5


def solve(
    readings: np.ndarray, levels: np.ndarray, variances: Variances, weights: np.ndarray
) -> Effects:
    """Mean and effects of known variances; `levels` has a row for each reading, 1 where it is in.

    Source: the mixed-model equations (C. R. Henderson), from memory.

    >>> found = solve(np.array([7.0, 9.0]), np.eye(2), Variances(1, 1), np.ones(2))
    >>> found.mean, found.effects.tolist()
    (8.0, [-0.5, 0.5])
    """
    count = levels.shape[1]
    if variances.between == 0:
        mean = float(np.average(readings, weights=weights))
        nothing = np.zeros(count)
        return Effects(mean, nothing, np.zeros((count, count)), weights, variances)
    design = np.column_stack([np.ones(len(readings)), levels])
    penalty = np.diag([0.0] + [variances.within / variances.between] * count)
    inverse = np.linalg.inv(design.T @ (weights[:, None] * design) + penalty)
    found = inverse @ (design.T @ (weights * readings))
    return Effects(
        mean=float(found[0]),
        effects=found[1:],
        covariance=variances.within * inverse[1:, 1:],
        weights=weights,
        variances=variances,
    )


def solve_robust(readings: np.ndarray, levels: np.ndarray, variances: Variances) -> Effects:
    """As `solve`, with readings far from what their parts explain pulling less.

    Source: weights of P. J. Huber (1964), by repeated solving, from memory.

    >>> found = solve_robust(np.array([7.0, 7, 7, 60]), np.ones((4, 1)), Variances(1, 1))
    >>> round(float(found.weights[3]), 3)
    0.025
    """
    reach = HUBER_K * variances.within**0.5
    weights = np.ones(len(readings))
    for _ in range(_ROUNDS):
        found = solve(readings, levels, variances, weights)
        off = np.abs(readings - found.mean - levels @ found.effects)
        new = reach / np.maximum(off, reach)
        if np.max(np.abs(new - weights)) < 1e-6:
            break
        weights = new
    return found


def estimate_variances(
    readings: np.ndarray, levels: np.ndarray, restricted: bool = True
) -> Variances:
    """The two variances under which the readings are most likely, restricted for the mean or not.

    Raises ValueError for fewer than two readings.

    Source: restricted maximum likelihood (H. D. Patterson and R. Thompson, 1971), from memory.

    >>> found = estimate_variances(np.array([7.0, 8, 15, 16]), np.kron(np.eye(2), np.ones((2, 1))))
    >>> round(found.within, 2), round(found.between)
    (0.5, 32)
    """
    if len(readings) < 2:
        raise ValueError("two readings at least")
    profile = _Profile.of(readings, levels, restricted)
    values = [profile.at(ratio)[0] for ratio in _GRID]
    best = int(np.argmin(values))
    ratio = float(_GRID[best])
    if best > 0:
        ratio = _narrowed(profile, _GRID[max(best - 1, 1)], _GRID[min(best + 1, len(_GRID) - 1)])
    value, within = profile.at(ratio)
    return Variances(ratio * within, within, value)


@dataclass(frozen=True, slots=True)
class _Profile:
    """-2 log likelihood by the ratio of the variances, all other figures at their best."""

    scales: np.ndarray
    squares: np.ndarray
    rest: float
    spread: np.ndarray
    count: int

    @classmethod
    def of(cls, readings: np.ndarray, levels: np.ndarray, restricted: bool) -> _Profile:
        off_mean = readings - readings.mean()
        centred = levels - levels.mean(axis=0)
        scales, vectors = np.linalg.eigh(centred.T @ centred)
        kept = scales > 1e-9 * max(scales.max(initial=0), 1)
        scales = scales[kept]
        squares = (vectors[:, kept].T @ (centred.T @ off_mean)) ** 2 / scales
        rest = max(float(off_mean @ off_mean - squares.sum()), 0.0)
        plain = np.maximum(np.linalg.eigvalsh(levels.T @ levels), 0)
        spread = scales if restricted else plain
        return cls(scales, squares, rest, spread, len(readings) - int(restricted))

    def at(self, ratio: float) -> tuple[float, float]:
        left = self.rest + float((self.squares / (1 + ratio * self.scales)).sum())
        within = max(left / self.count, LEAST_WITHIN)
        spread = float(np.log1p(ratio * self.spread).sum())
        return self.count * log(2 * pi * within) + spread + left / within, within


def _narrowed(profile: _Profile, low: float, high: float) -> float:
    """The best ratio between two, by golden section over its logarithm."""
    low, high = log(low), log(high)
    for _ in range(_NARROWINGS):
        left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        if profile.at(np.exp(left))[0] < profile.at(np.exp(right))[0]:
            high = right
        else:
            low = left
    return float(np.exp((low + high) / 2))


def fit(readings: np.ndarray, levels: np.ndarray) -> Effects:
    """Effects of all levels with the variances estimated, so that no single reading convicts.

    Readings far off are left out while the variances are estimated, and pull little afterwards.
    Raises ValueError for fewer than two readings.

    Source: `estimate_variances`, `solve_robust`.

    >>> found = fit(np.array([7.0, 8, 15, 16]), np.kron(np.eye(2), np.ones((2, 1))))
    >>> found.effects.round(1).tolist()
    [-4.0, 4.0]
    """
    kept = np.ones(len(readings), dtype=bool)
    for _ in range(5):
        variances = estimate_variances(readings[kept], levels[kept])
        found = solve_robust(readings, levels, variances)
        still = found.weights >= LEAST_WEIGHT
        if (still == kept).all() or still.sum() < 2:
            break
        kept = still
    return found
