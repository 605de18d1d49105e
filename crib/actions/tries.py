"""Tries at a secret, counted before they are made: five wrong ones, then a pause."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.cache import cache

from crib.models import Person
from crib.rules.refusal import Refused

MOST_TRIES = 5
PAUSE_S = 5 * 60
#: So long a wrong try counts: one shift.
_KEPT_S = 12 * 60 * 60


@dataclass(frozen=True)
class Tries:
    """Tries at one secret of one person, wherever and by whomever they are made.

    The counter stands in the cache that all workers share. Take a try outside of any transaction:
    rolled back with it, a wrong try would not count.
    """

    secret: str
    person: Person

    def take(self) -> int:
        """Use one try up; how many are left after it. Raises Refused during the pause."""
        self._refuse_in_pause()
        # A row for each try: adding one fails when it is there, counting up could be overtaken.
        for number, key in enumerate(self._keys, start=1):
            if cache.add(key, 1, _KEPT_S):
                # The pause may have begun, and freed this row, since it was looked for.
                self._refuse_in_pause()
                return MOST_TRIES - number
        self._begin_pause()
        raise self._paused()

    def was_wrong(self, left: int) -> str:
        """What to say after a wrong try; the last one begins the pause."""
        if left:
            return f"{left} {'try' if left == 1 else 'tries'} left."
        self._begin_pause()
        return f"That was the last try. Wait {PAUSE_S // 60} minutes."

    def was_right(self) -> None:
        """Wrong tries before a right one are forgotten."""
        cache.delete_many(self._keys)

    def _refuse_in_pause(self) -> None:
        if cache.get(self._pause):
            raise self._paused()

    @property
    def _keys(self) -> list[str]:
        return [f"{self.secret}-try:{self.person.pk}:{n}" for n in range(1, MOST_TRIES + 1)]

    @property
    def _pause(self) -> str:
        return f"{self.secret}-pause:{self.person.pk}"

    def _begin_pause(self) -> None:
        if cache.add(self._pause, 1, PAUSE_S):
            cache.delete_many(self._keys)

    def _paused(self) -> Refused:
        return Refused(
            "pin.paused",
            f"{MOST_TRIES} wrong tries for {self.person}. Pause of {PAUSE_S // 60} minutes.",
            "Try again after it.",
            field="pin",
        )
