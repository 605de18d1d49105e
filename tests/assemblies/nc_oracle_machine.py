"""The slow reading: one block after the other, in the order of NIST IR 6556 (2000), table 8."""

from tests.assemblies.nc_oracle_cycles import run_cycle
from tests.assemblies.nc_oracle_moves import (
    DEPTH,
    PLANES,
    forget_inverse_time,
    leave_out,
    leave_out_rapid,
    lose,
    note_depth,
    refuse_words,
    run_arc,
    straight,
    targets,
    wait,
)
from tests.assemblies.nc_oracle_state import larger, smaller, use_of
from tests.assemblies.nc_oracle_words import (
    AXES,
    CYCLES,
    WORK_OFFSETS,
    CannotRead,
    Forbidden,
    check_groups,
    whole,
)
from tests.assemblies.nc_oracle_zeros import change_work_offset, set_work_zero, shift

SPEEDS = ("spindle_speed_max", "spindle_speed_min", "spindle_speed_carried")


def run_block(words, state):
    """One block in the order of table 8; True when the program ends with it."""
    check_groups(words)
    g, m = words["G"], words["M"]
    take_feed_mode(g, state)
    take_feed(words, state)
    take_speed(words, m, state)
    change_tool(words, m, state)
    turn_spindle(m, state)
    dwell(words, g, state)
    take_plane(g, state)
    take_unit(words, g, state)
    take_offsets(g, state)
    take_distance_and_return(g, state)
    act(words, g, state)
    return bool({2, 30} & set(m))


def take_feed_mode(g, state):
    for code in g:
        if code in (93, 94, 95) and code != state["feed mode"]:
            state["feed mode"], state["feed"] = code, None


def take_plane(g, state):
    for code in g:
        if code in PLANES:
            change_when_no_cycle(state, "plane", code)


def take_unit(words, g, state):
    for code in g:
        if code in (20, 21):
            change_unit(words, state, 25.4 if code == 20 else 1.0)


def take_offsets(g, state):
    """After a change of the length offset Z is no more where it read before."""
    for code in g:
        if code in (43, 49):
            state["soft"].add("Z")
        if code in WORK_OFFSETS:
            change_work_offset(state, code)


def take_distance_and_return(g, state):
    for code in g:
        if code in (90, 91):
            change_when_no_cycle(state, "absolute", code == 90)
        if code in (98, 99):
            change_when_no_cycle(state, "return", code)


def change_when_no_cycle(state, name, value):
    """A change in the middle of a row of holes is read in several ways, so it is refused."""
    if state["cycle"] and state[name] != value:
        raise CannotRead(f"{name} changes within a row of holes")
    state[name] = value


def take_feed(words, state):
    if "F" not in words:
        return
    if words["F"] < 0:
        raise Forbidden("negative F")
    scale = 1.0 if state["feed mode"] == 93 else state["factor"]
    state["feed"], state["feed is open"] = words["F"] * scale, False


def take_speed(words, m, state):
    if "S" not in words:
        return
    if words["S"] <= 0:
        raise CannotRead("S0 or below")
    state["speed"], state["speed is own"] = words["S"], True
    if state["turning"] and 6 not in m:
        note_speed(state)


def change_tool(words, m, state):
    if "T" in words:
        if words["T"] < 0:
            raise Forbidden("negative T")
        state["selected"] = whole(words["T"])
    if 6 not in m:
        return
    if state["selected"] is None:
        raise CannotRead("change before any T")
    state["tool"], state["turning"] = state["selected"], None
    state["speed is own"] = "S" in words
    use_of(state)["calls"] += 1


def turn_spindle(m, state):
    for code in m:
        if code in (3, 4):
            state["turning"] = "cw" if code == 3 else "ccw"
            note_speed(state)
        elif code == 5:
            state["turning"] = None


def note_speed(state):
    use, speed = use_of(state), state["speed"]
    use["rotation"].add(state["turning"])
    if speed is None:
        use["unknown"].update(SPEEDS[:2])
        return
    use["spindle_speed_max"] = larger(use["spindle_speed_max"], speed)
    use["spindle_speed_min"] = smaller(use["spindle_speed_min"], speed)
    if not state["speed is own"]:
        use["spindle_speed_carried"] = larger(use["spindle_speed_carried"], speed)


def dwell(words, g, state):
    if 4 not in g:
        return
    if "P" not in words or any(axis in words for axis in AXES):
        raise CannotRead("dwell without P, or with a move")
    wait(words, state, words["P"])


def change_unit(words, state, factor):
    if factor == state["factor"]:
        return
    if state["cycle"]:
        raise CannotRead("unit changes within a row of holes")
    state["factor"] = factor
    if "F" in words and state["feed mode"] != 93:
        state["feed is open"] = True


def act(words, g, state):
    """What the axis words of a block are for: a non-modal code takes them from the motion code."""
    axes = [axis for axis in AXES if axis in words]
    if {"A", "B", "C"} & set(words):
        raise CannotRead("rotary axes")
    for code in g:
        if code in (0, 1, 2, 3, 80, *CYCLES):
            choose_motion(state, code)
    if {92, 92.1, 92.2, 92.3} & set(g):
        shift(words, g, state)
    elif 10 in g:
        set_work_zero(words, state)
    elif 28 in g:
        go_home(words, state, axes)
    elif 53 in g:
        go_in_machine_coordinates(state, axes)
    elif 4 not in g:
        move(words, g, state, axes)


def choose_motion(state, code):
    if code == 80:
        code = None
    if code != state["motion"] or code not in CYCLES:
        state["cycle"] = {}
    state["motion"] = code


def move(words, g, state, axes):
    motion = state["motion"]
    centre = any(letter in words for letter in "IJK")
    if not axes and not (motion in (2, 3) and motion in g and centre):
        if centre or "R" in words or "Q" in words or (motion in CYCLES and motion in g):
            raise CannotRead("words without a move")
        return
    if motion is None:
        raise Forbidden("axis words without a motion code")
    if motion in CYCLES:
        run_cycle(words, state)
    elif motion in (2, 3):
        forget_inverse_time(words, state)
        run_arc(words, state)
    else:
        refuse_words(words, "IJKRQ")
        if motion == 1:
            forget_inverse_time(words, state)
        straight(state, motion == 1, targets(words, state))


def go_home(words, state, axes):
    """G28: over the point of the words to a place nobody has written down."""
    if axes:
        straight(state, False, targets(words, state))
    leave_out_rapid(state)
    lose(state, axes or AXES)


def go_in_machine_coordinates(state, axes):
    if state["motion"] not in (0, 1):
        raise Forbidden("G53 needs G0 or G1")
    if state["motion"] == 1 and axes:
        leave_out(state, True, "unknown")
        z = None if "Z" in axes else state["at"]["Z"]
        note_depth(state, use_of(state), DEPTH, state["at"]["Z"], z, True)
    elif axes:
        leave_out_rapid(state)
    lose(state, axes)
