"""How often each rule kept a tool from being a MATCH, and how often it was loaded all the same.

A caution that is accepted again and again is either wrong or no longer read. Rules are counted
here, never people.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from crib.rules.finding import Level

#: Checks that are no MATCH should stay under this share [%]. Source: own aim.
AIM_PERCENT = 10
#: Accepted so often among so many loads, a rule or its data is probably wrong. Source: own rule.
ACCEPTED_OFTEN = 3
AMONG_LOADS = 10
#: With fewer decisions a share says nothing.
ENOUGH = 10

#: What keeps a tool from being a MATCH.
CAUTIONS = frozenset({Level.CHECK, Level.UNKNOWN, Level.STOP_SOFT, Level.STOP_HARD})


class Said(NamedTuple):
    """What one rule said in one decision."""

    code: str
    level: Level
    text: str = ""


@dataclass(frozen=True, slots=True)
class Decided:
    """One decision at a spindle: was it loaded, was it a MATCH, what was said."""

    loaded: bool
    match: bool
    said: tuple[Said, ...]

    @property
    def cautions(self) -> dict[str, Said]:
        """The worst that each rule said to keep it from being a MATCH."""
        worst: dict[str, Said] = {}
        for one in self.said:
            known = worst.get(one.code)
            if one.level in CAUTIONS and (known is None or one.level.weight > known.level.weight):
                worst[one.code] = one
        return worst


@dataclass(frozen=True, slots=True)
class RuleRate:
    """How one rule fared; `text` is what it said last."""

    code: str
    text: str
    said: int
    accepted: int
    accepted_lately: int
    worst: Level

    @property
    def accepted_percent(self) -> int:
        """Share of its warnings that were loaded all the same, rounded down [%]."""
        return 100 * self.accepted // self.said

    @property
    def often(self) -> bool:
        """Calls for a look: is the rule wrong, or its data?"""
        return self.accepted_lately >= ACCEPTED_OFTEN


@dataclass(frozen=True, slots=True)
class Rates:
    """All rules, those accepted most first, and the share of decisions that were no MATCH."""

    decisions: int
    loads: int
    no_match: int
    rules: tuple[RuleRate, ...]

    @property
    def enough(self) -> bool:
        """Enough decisions for a share to mean something."""
        return self.decisions >= ENOUGH

    @property
    def no_match_percent(self) -> float:
        """Share of decisions that were no MATCH, rounded down to a tenth [%].

        Down, so that 9.96 under an aim of 10 is not printed as 10.0.
        """
        return 1000 * self.no_match // self.decisions / 10 if self.decisions else 0.0

    @property
    def within_aim(self) -> bool:
        """Whether the share is under the aim; the aim itself is not under it."""
        return 100 * self.no_match < AIM_PERCENT * self.decisions

    @property
    def lately(self) -> int:
        """How many loads "lately" were, where there are fewer than asked for."""
        return min(self.loads, AMONG_LOADS)


def override_rate(newest_first: Sequence[Decided]) -> Rates:
    """The rates of every rule over decisions of which the newest comes first.

    Source: own rule. A rule accepted three times among the last ten loads is pointed out.

    >>> hours = Decided(True, False, (Said("collet.hours_over", Level.CHECK),))
    >>> rates = override_rate([hours] * 3 + [Decided(True, True, ())] * 27)
    >>> rates.no_match_percent, rates.rules[0].accepted_percent, rates.rules[0].often
    (10.0, 100, True)
    """
    loads = [one for one in newest_first if one.loaded]
    cautions = [(one.loaded, one.cautions) for one in newest_first]
    lately = [one.cautions for one in loads[:AMONG_LOADS]]
    codes = dict.fromkeys(code for _, said in cautions for code in said)
    rules = sorted((_rate(code, cautions, lately) for code in codes), key=_most_accepted_first)
    no_match = sum(not one.match for one in newest_first)
    return Rates(len(newest_first), len(loads), no_match, tuple(rules))


def _rate(
    code: str,
    cautions: Sequence[tuple[bool, dict[str, Said]]],
    lately: Sequence[dict[str, Said]],
) -> RuleRate:
    told = [(loaded, said[code]) for loaded, said in cautions if code in said]
    return RuleRate(
        code=code,
        text=told[0][1].text,
        said=len(told),
        accepted=sum(loaded for loaded, _ in told),
        accepted_lately=sum(code in said for said in lately),
        worst=max((said.level for _, said in told), key=lambda level: level.weight),
    )


def _most_accepted_first(rule: RuleRate) -> tuple:
    return (-rule.accepted_lately, -rule.accepted, -rule.said, rule.code)
