"""Feeds and dwells: what F means in each feed mode, how long a move takes, how long a stop."""

from __future__ import annotations

from assemblies.rules.nc.codes import PROBE
from assemblies.rules.nc.figures import Figures, largest, smallest
from assemblies.rules.nc.orders import Orders
from assemblies.rules.nc.reading import FEED_FIGURES, SPINDLE_FIGURES, ToolUse
from crib.rules.finding import Level

#: Feed per time of the move, per minute, per revolution.
G93, G94, G95 = 930, 940, 950
RATES = FEED_FIGURES[:2]
#: From so many seconds on, a P without a point is likely to be milliseconds.
LONG_DWELL_S = 100
#: What a feed that is not known leaves open.
TIMED_FIGURES = (*FEED_FIGURES, "cutting_time")


class Feeds(Figures):
    """The F word, and what every feed move is asked."""

    def set_feed(self, orders: Orders) -> None:
        """Take F in the unit in force before this block, as table 8 of the report orders."""
        state = self.state
        mode = orders.g.get("feed mode")
        if mode is not None and mode != state.feed_mode:
            state.feed_mode, state.feed = mode, None
        if "F" not in orders.words:
            return
        value = orders.value("F")
        factor = 1.0 if state.feed_mode == G93 else state.scale
        state.feed = None if value is None else value * factor
        state.feed_doubt = value is None or self.deletable
        self.doubt_counted_feed(orders)
        state.feed_call = self.call_of(orders)
        state.feed_unit = state.unit

    def doubt_counted_feed(self, orders: Orders) -> None:
        """Where lengths count in least increments, F may do so in inches or per revolution."""
        state, word = self.state, orders.words["F"]
        counted = self.settings.counts_least_increments and word.digits and "." not in word.digits
        if counted and (state.feed_mode, state.unit) != (G94, "mm"):
            state.feed_doubt = True
            self.note("not-understood", Level.UNKNOWN, "F without a point: whole or in small steps")

    def begin_feed_move(self, orders: Orders) -> None:
        """What is asked of every feed move, whatever its shape."""
        self.record_move()
        if self.state.motion != PROBE:
            self.check_spindle(orders)
        self.check_length_offset()

    def check_spindle(self, orders: Orders) -> None:
        state = self.state
        if state.rotation is None:
            if state.turning_at_change:
                text = "no M3 or M4 since the change; by the standard the spindle stands"
                self.note_once("no-spindle", Level.UNKNOWN, text)
                self.current_use().doubt(SPINDLE_FIGURES)
            elif 5 not in orders.m:
                self.note_once("no-spindle", Level.CHECK, "feed move with the spindle stopped")
        elif not state.speed:
            self.note_once("no-speed", Level.CHECK, "feed move without a speed")

    def check_length_offset(self) -> None:
        calls = len(self.reading.tool_calls)
        if not calls or self.state.length_offset_call >= calls:
            return
        if self.state.length_offset:
            self.record_held_offset()
        if not self.settings.fixed_length_offsets:
            text = "feed move without G43 since the tool change"
            self.note_once("no-length-offset", Level.CHECK, text)

    def record_held_offset(self) -> None:
        """The change of the tool leaves the offset in force (NIST IR 6556, 3.6.3); some end it."""
        state, use, number = self.state, self.current_use(), self.state.length_offset_number
        if number is not None:
            use.length_offsets.add(number)
        if number is None or number != state.tool:
            use.doubt(("length_offsets",))
            if not self.settings.fixed_length_offsets:
                text = f"H{'?' if number is None else number} of the tool before stays in force"
                self.note_once("length-offset", Level.CHECK, text)

    def record_feed(self, orders: Orders, length: float, length_is_known: bool = True) -> None:
        """Take the feed of one move of `length` [mm] and the time it needs into the figures."""
        state, use = self.state, self.current_use()
        if state.feed_doubt:
            use.doubt(TIMED_FIGURES)
        feed = self.feed_of(orders)
        if not feed:
            self.say_no_feed(use)
            return
        self.check_feed_origin(use)
        if state.feed_mode == G93:
            self.record_inverse_time(use, feed, length, length_is_known)
            return
        rate = self.feed_per_minute(use, feed)
        if rate:
            self.record_rate(use, rate)
            use.cutting_time += length / rate

    def feed_of(self, orders: Orders) -> float | None:
        """The feed in force; in G93 every move needs its own F (NIST IR 6556, 3.5.19)."""
        own_f_needed = self.state.feed_mode == G93
        return None if own_f_needed and "F" not in orders.words else self.state.feed

    def check_feed_origin(self, use: ToolUse) -> None:
        state = self.state
        if state.feed_call < len(self.reading.tool_calls):
            self.note_once("feed-carried", Level.NOTE, "the feed of the tool before stays in force")
        if state.feed_unit != state.unit and state.feed_mode != G93:
            self.note_once("unit-switch", Level.CHECK, "feed move with an F of the other unit")
            use.doubt(TIMED_FIGURES)

    def say_no_feed(self, use: ToolUse) -> None:
        use.doubt(TIMED_FIGURES)
        if not self.state.feed_doubt:
            bound = self.state.feed_mode in (G93, G95)
            level = Level.STOP_SOFT if bound else Level.CHECK
            self.note_once("no-feed", level, "feed move without F since the start or the feed mode")

    def record_inverse_time(self, use: ToolUse, feed: float, length: float, known: bool) -> None:
        """G93: the move takes 1/F minutes, whatever its length."""
        use.cutting_time += 1 / feed
        if known:
            self.record_rate(use, length * feed)
        else:
            use.doubt(RATES)

    def feed_per_minute(self, use: ToolUse, feed: float) -> float | None:
        """The feed rate in force [mm/min]; None where it cannot be told."""
        state = self.state
        if state.feed_mode == G94:
            return feed
        use.feed_per_revolution_max = largest(use.feed_per_revolution_max, feed)
        if state.rotation_doubt or state.speed_doubt or not state.rotation or not state.speed:
            use.doubt((*RATES, "cutting_time"))
            return None
        return feed * state.speed

    @staticmethod
    def record_rate(use: ToolUse, rate: float) -> None:
        use.feed_rate_max = largest(use.feed_rate_max, rate)
        use.feed_rate_min = smallest(use.feed_rate_min, rate)

    # Dwells

    def record_dwell(self, orders: Orders) -> None:
        """G4: P seconds, apart from the cutting time."""
        use, seconds = self.current_use(), orders.value("P")
        if seconds is None or seconds < 0 or self.is_dwell_doubtful(orders):
            use.doubt(("dwell_time",))
        use.dwell_time += max(0.0, seconds or 0.0) / 60

    def is_dwell_doubtful(self, orders: Orders) -> bool:
        """Whether P may be milliseconds: without a point, and long for seconds."""
        word = orders.words["P"]
        shortest = 0 if self.settings.counts_least_increments and word.digits else LONG_DWELL_S
        if not word.value or word.value < shortest or "." in word.digits:
            return False
        self.note("dwell-unit", Level.CHECK, f"P{word.value:g}: seconds or milliseconds")
        return True
