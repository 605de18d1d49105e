"""The slow reading: straight moves, and arcs walked in small steps.

Source: NIST IR 6556 (2000), 3.5.1 to 3.5.3.
"""

import math
from itertools import accumulate, pairwise

from tests.assemblies.nc_oracle_state import larger, smaller, use_of
from tests.assemblies.nc_oracle_words import AXES, CannotRead, Forbidden

#: first and second axis of the plane, the axis across it; G18 is Z-X in this order (3.5.3).
PLANES = {17: ("X", "Y", "Z"), 18: ("Z", "X", "Y"), 19: ("Y", "Z", "X")}
CENTRES = {"X": "I", "Y": "J", "Z": "K"}
#: Radii at both ends of an arc may differ by so much [mm], or by this share of the radius.
RADIUS_SLACK, RADIUS_SHARE = 0.01, 0.001
FEED = ("feed_path_length", "cutting_time")
FEED_RATES = ("feed_rate_max", "feed_rate_min")
DEPTH = ("deepest_z", "deepest_z_by_work_offset")
RAPID = ("rapid_path_length",)
RAPID_DEPTH = ("deepest_z_rapid",)


def wait(words, state, seconds):
    if "P without a point" in words:
        use_of(state)["open"].add("dwell_time")
    use_of(state)["dwell_time"] += seconds / 60


def refuse_words(words, letters):
    if any(letter in words for letter in letters):
        raise CannotRead(f"a word of {letters} without use")


def forget_inverse_time(words, state):
    """In G93 each feed move needs an F of its own; without it its time is not known."""
    if state["feed mode"] == 93 and "F" not in words:
        state["feed"] = None


def targets(words, state):
    """Where the axis words lead, by axis [mm]; None where that is not known."""
    found = {}
    for axis in AXES:
        if axis in words:
            value = words[axis] * state["factor"]
            if not state["absolute"]:
                value = None if state["at"][axis] is None else state["at"][axis] + value
            found[axis] = value
            state["worded"].add(axis)
    return found


def straight(state, feeding, target):
    """A straight move; what cannot be known of it is marked, never guessed."""
    use, start = use_of(state), dict(state["at"])
    depth = DEPTH if feeding else RAPID_DEPTH
    certainty = surest(state, target)
    end = {**start, **target}
    state["at"] = end
    if certainty:
        leave_out(state, feeding, certainty)
    else:
        add_length(state, feeding, math.hypot(*(end[axis] - start[axis] for axis in target)))
    note_depth(state, use, depth, start["Z"], end["Z"], feeding)
    if state["absolute"] or state["cycle"]:
        state["soft"] -= set(target)


def surest(state, target):
    """How much of a move is known: "" all, "open" by convention, "unknown" not at all."""
    if any(target[axis] is None for axis in target):
        return "open"
    if any(state["at"][axis] is None for axis in target):
        return "unknown"
    return "open" if state["soft"] & set(target) else ""


def note_depth(state, use, figures, start, end, feeding):
    if feeding and (start is None or end is None):
        use["unknown"].update(figures)
    elif end is None or "Z" in state["soft"]:
        use["open"].update(figures)
    elif feeding:
        note_feed_depth(state, min(start, end))
    else:
        use["deepest_z_rapid"] = smaller(use["deepest_z_rapid"], end)


def note_feed_depth(state, z):
    use, name = use_of(state), f"G{state['work']}"
    use["deepest_z"] = smaller(use["deepest_z"], z)
    by_offset = use["deepest_z_by_work_offset"]
    by_offset[name] = smaller(by_offset.get(name), z)


def add_length(state, feeding, length):
    use = use_of(state)
    if not feeding:
        use["rapid_path_length"] += length
        return
    use["feed_path_length"] += length
    rate = note_feed(state, use)
    if rate:
        use["cutting_time"] += length / rate


def leave_out(state, feeding, certainty):
    """A move whose length is not known; its feed is, and in inverse time its minutes."""
    use = use_of(state)
    if not feeding:
        use[certainty].update(RAPID)
        return
    use[certainty].update(FEED if note_feed(state, use) else ("feed_path_length",))


def note_feed(state, use):
    """The feed rate of this move [mm/min], kept with the others; None where it is not known."""
    feed, mode = state["feed"], state["feed mode"]
    if state["feed is open"]:
        use["open"].update((*FEED_RATES, "feed_per_revolution_max", "cutting_time"))
    if not feed:
        use["unknown"].update(("cutting_time",) if feed == 0 else ("cutting_time", *FEED_RATES))
        use["open"].update(FEED_RATES)
        return None
    if mode == 93:
        use["cutting_time"] += 1 / feed
        use["open"].update(FEED_RATES)
        return None
    if mode == 95:
        use["feed_per_revolution_max"] = larger(use["feed_per_revolution_max"], feed)
        if not (state["turning"] and state["speed"]):
            use["unknown"].update((*FEED_RATES, "cutting_time"))
            return None
        feed *= state["speed"]
    use["feed_rate_max"] = larger(use["feed_rate_max"], feed)
    use["feed_rate_min"] = smaller(use["feed_rate_min"], feed)
    return feed


def lose(state, axes):
    for axis in axes:
        state["at"][axis] = None
        state["soft"].discard(axis)
        state["worded"].add(axis)


def leave_out_rapid(state):
    use_of(state)["unknown"].update(RAPID)
    use_of(state)["open"].update(RAPID_DEPTH)


def run_arc(words, state):
    refuse_words(words, "PQ")
    first, second, across = PLANES[state["plane"]]
    if CENTRES[across] in words:
        raise CannotRead("centre word outside the plane")
    target, start = targets(words, state), dict(state["at"])
    end = {**start, **target}
    if None in (*start.values(), *end.values()) or state["soft"] & {*target, first, second}:
        leave_out(state, True, "open")
        use_of(state)["open"].update(DEPTH)
    else:
        here, there = (complex(p[first], p[second]) for p in (start, end))
        turn = walk_arc(words, state, here, there)
        points = [(p.real, p.imag, w) for p, w in climb(turn, start[across], end[across])]
        add_length(state, True, sum(math.dist(*pair) for pair in pairwise(points)))
        z = (first, second, across).index("Z")
        note_feed_depth(state, min(point[z] for point in points))
    state["at"] = end
    if state["absolute"]:
        state["soft"] -= set(target)


def climb(turn, start, end):
    """The points of a turn with their place across the plane, which changes with the way."""
    ways = [0.0, *accumulate(abs(after - before) for before, after in pairwise(turn))]
    return [
        (point, start + (end - start) * way / ways[-1])
        for point, way in zip(turn, ways, strict=True)
    ]


def walk_arc(words, state, here, there):
    counter_clockwise = state["motion"] == 3
    first, second, _ = PLANES[state["plane"]]
    offset = [words.get(CENTRES[axis]) for axis in (first, second)]
    if "R" in words:
        if any(part is not None for part in offset):
            raise Forbidden("R and a centre")
        return turn_of_radius(state, here, there, words["R"] * state["factor"])
    if not any(offset):
        raise Forbidden("arc without a centre")
    centre = here + complex(*(state["factor"] * (part or 0.0) for part in offset))
    return turn_about(centre, here, there, counter_clockwise, state["steps"])


def turn_about(centre, here, there, counter_clockwise, steps):
    """Points from here to there about the centre, one small step of angle after the other.

    >>> len(turn_about(0, 1 + 0j, -1 + 0j, True, 100))
    51
    """
    out, goal = here - centre, there - centre
    if abs(abs(out) - abs(goal)) > max(RADIUS_SLACK, RADIUS_SHARE * abs(out)):
        raise Forbidden("the end is not on the circle")
    if 0 < abs(there - here) < 0.003:
        raise CannotRead("a full circle or nearly nothing")
    angle = 2 * math.pi / steps
    step = complex(math.cos(angle), math.sin(angle) if counter_clockwise else -math.sin(angle))
    walked = [out] if here != there else [out, out * step]
    while not within_one_step(walked[-1], goal, step):
        walked.append(walked[-1] * step)
    return spiral(centre, walked, here, there)


def within_one_step(place, goal, step):
    """Whether the direction of the goal lies between this place and the next one."""
    rest = goal / place
    ahead = rest.imag if step.imag > 0 else -rest.imag
    return rest.real > 0 and -1e-9 <= ahead * abs(place) / abs(goal) < abs(step.imag) - 1e-9


def spiral(centre, walked, here, there):
    """The walked points, drawn evenly to the radius of the end where that differs a little."""
    inner, outer = abs(here - centre), abs(there - centre)
    growth = (outer / inner - 1) / len(walked)
    points = [centre + point * (1 + growth * n) for n, point in enumerate(walked)]
    return [*points, there] if abs(points[-1] - there) > 1e-9 else [*points[:-1], there]


def turn_of_radius(state, here, there, radius):
    """The one of the two circles whose arc is short (R above 0) or long (R below 0)."""
    if here == there:
        raise Forbidden("R format to the same point")
    half = abs(there - here) / 2
    if half > abs(radius) + 0.01:
        raise Forbidden("R is too small for the way")
    if half > abs(radius) - 0.0005 or half < 0.01:
        raise CannotRead("half a circle within rounding")
    turns = [
        turn_about(centre, here, there, state["motion"] == 3, state["steps"])
        for centre in two_centres(here, there, abs(radius))
    ]
    return (min if radius > 0 else max)(turns, key=len)


def two_centres(here, there, radius):
    """Both points that far from here and there, found by halving the distance searched."""
    middle, across = (here + there) / 2, (there - here) * 1j / abs(there - here)
    low, high = 0.0, radius
    for _ in range(60):
        mid = (low + high) / 2
        low, high = (mid, high) if abs(middle + across * mid - here) < radius else (low, mid)
    return middle + across * low, middle - across * low
