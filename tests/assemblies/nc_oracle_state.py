"""The slow reading: what it keeps between two blocks, and the figures of one tool."""

from tests.assemblies.nc_oracle_words import AXES


def new_state(steps, back_off):
    return {
        "at": dict.fromkeys(AXES, 0.0),  # program coordinates [mm]; None is not known
        "soft": set(),  # axes whose place is a convention more than knowledge
        "worded": set(),
        "factor": 1.0,
        "absolute": True,
        "plane": 17,
        "motion": None,
        "feed mode": 94,
        "feed": None,
        "feed is open": False,
        "speed": None,
        "speed is own": False,
        "turning": None,
        "selected": None,
        "tool": None,
        "work": 54,
        "zero": {},  # (work offset, axis) -> place of its zero, where the program said it
        "shift": dict.fromkeys(AXES, 0.0),  # of G92
        "kept shift": dict.fromkeys(AXES, 0.0),
        "return": 98,
        "cycle": {},
        "parameters": {},
        "uses": {},
        "blocks": 0,
        "steps": steps,
        "back off": back_off,
    }


def use_of(state):
    return state["uses"].setdefault(state["tool"], new_use())


def new_use():
    return {
        "calls": 0,
        "spindle_speed_max": None,
        "spindle_speed_min": None,
        "spindle_speed_carried": None,
        "rotation": set(),
        "feed_rate_max": None,
        "feed_rate_min": None,
        "feed_per_revolution_max": None,
        "deepest_z": None,
        "deepest_z_rapid": None,
        "deepest_z_by_work_offset": {},
        "feed_path_length": 0.0,
        "rapid_path_length": 0.0,
        "cutting_time": 0.0,
        "dwell_time": 0.0,
        "cycles": set(),
        "unknown": set(),  # figures nobody can know: the real reader has to admit them
        "open": set(),  # figures that hang on a convention: not compared
    }


def larger(known, value):
    return value if known is None else max(known, value)


def smaller(known, value):
    return value if known is None else min(known, value)
