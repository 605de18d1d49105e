"""Speed and memory of the program reader, as ratios within one run.

Run: python bench/bench_nc.py [lines]. The reader and a plain per-line `findall` and `float` loop
read the same invented program, so that the ratio says something on any machine. The aims: a third
of the plain loop, no more memory than the file and 40 MB, and any hostile file within a second.
"""

from __future__ import annotations

import math
import re
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from assemblies.rules.nc.reader import NotAProgram, read_program

ROOT = Path(__file__).resolve().parent.parent
_WORD = re.compile(r"([A-Z])([-+]?[0-9.]+)")
TOOLS = 12
MEMORY_AIM_MB = 40
HOSTILE_AIM_S = 1.0


def invented_program(lines: int) -> bytes:
    """A program of about `lines` blocks with twelve tools; every eleventh move is an arc."""
    rows = ["%", "O1000 (INVENTED PROGRAM)", "G21 G90 G17 G94"]
    for tool in range(1, TOOLS + 1):
        rows += [f"T{tool} M6", f"S{8000 + 500 * tool} M3", f"G43 H{tool} Z25."]
        rows += ["G0 X100. Y0. Z5.", "G1 Z-1. F900.", "X100. Y0. F2400."]
        rows += [invented_move(step) for step in range(lines // TOOLS)]
        rows += ["G0 Z50.", "M5"]
    return "\n".join([*rows, "M30", "%", ""]).encode()


def invented_move(step: int) -> str:
    """One move along a circle of 100 mm: a chord, or every eleventh time the arc itself."""
    before, angle = (step - 1) / 50, step / 50
    x, y = 100 * math.cos(angle), 100 * math.sin(angle)
    if step % 11 == 1:
        i, j = -100 * math.cos(before), -100 * math.sin(before)
        return f"G3 X{x:.3f} Y{y:.3f} I{i:.3f} J{j:.3f}"
    if step % 11 == 2:
        return f"G1 X{x:.3f} Y{y:.3f} Z-{step % 9}.25"
    return f"X{x:.3f} Y{y:.3f}"


def plain_loop(data: bytes) -> float:
    """Take every word of every line apart and add the numbers up."""
    total = 0.0
    for line in data.decode("latin-1").splitlines():
        for _, value in _WORD.findall(line):
            total += float(value)
    return total


def seconds(job, *arguments, times: int = 3) -> float:
    """The shortest of some runs [s]."""
    shortest = math.inf
    for _ in range(times):
        start = time.perf_counter()
        job(*arguments)
        shortest = min(shortest, time.perf_counter() - start)
    return shortest


# Memory

_MEASURE = """
import sys
sys.path.insert(0, {root!r})
from assemblies.rules.nc.reader import read_program
from bench.bench_nc import highest_mb
before = highest_mb()
read_program(open(sys.argv[1], "rb").read())
print(highest_mb() - before)
"""


def highest_mb() -> float:
    """The most memory this process ever had [MB]."""
    status = Path("/proc/self/status")
    if status.exists():
        # Unlike `ru_maxrss`, this does not begin with the size of the process it came from.
        return int(re.search(r"VmHWM:\s+([0-9]+)", status.read_text())[1]) * 1024 / 1e6
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6


def peak_memory_mb(data: bytes) -> float:
    """What a process of its own grows by while it opens and reads a file, at its highest [MB]."""
    with tempfile.NamedTemporaryFile(suffix=".nc") as file:
        file.write(data)
        file.flush()
        command = [sys.executable, "-c", _MEASURE.format(root=str(ROOT)), file.name]
        return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


# Hostile files

HOSTILE = {
    "one line of 1 MB": b"T1 M6\nG1 X" + b"1 " * 500_000 + b"\nM30\n",
    "one comment of 1 MB": b"T1 M6 (" + b"A " * 500_000 + b")\nM30\n",
    "1 MB behind ;": b"T1 M6 ; " + b"X1 " * 330_000 + b"!\nM30\n",
    "5,000 nested brackets": b"G1 X" + b"[" * 5000 + b"1" + b"]" * 5000 + b"\nM30\n",
    "L999999999 of a cycle": b"G91 G81 X1 Z-1 R-1 F9 L999999999\nM30\n",
    "L999999999 of a call": b"M98 P2 L999999999\nM30\nO2\nX1\nM99\n",
    "pecks without end": b"G83 X1 Z-1000000 R1 Q.000001 F9\nM30\n",
    "binary": bytes(range(256)) * 4000,
    "zip": b"PK\x03\x04" + bytes(1_000_000),
    "a subprogram that calls itself": b"O1\nM98 P2\nM30\nO2\nX1\nM98 P2\nM98 P2\nM99\n",
    "nine subprograms of 999 calls": b"O1\nM98 P2\nM30\n"
    + b"".join(b"O%d\nG1 X1\nM98 P%d L999\nM99\n" % (n, n + 1) for n in range(2, 11)),
    "a long subprogram many times": b"O1\nG21 G90 G1 X1 F9\nM98 P2 L9999\nM30\nO2\n"
    + b"G1 X1 Y2 Z3 F9\n"
    + b"X1.5 Y2.5\n" * 1000
    + b"M99\n",
    "100,000 comments": b"(AN INVENTED COMMENT)\n" * 100_000 + b"M30\n",
    "100,000 tool comments": b"(T1 - END MILL D10.)\n" * 100_000 + b"T1 M6\nM30\n",
    "20,000 blocks not understood": b"G999 X1\n" * 20_000 + b"M30\n",
    "20,000 arc faults": b"G2 X1 Y1 R.1\n" * 20_000 + b"M30\n",
}


def answer(data: bytes) -> str:
    """What the reader makes of a file: whole, not fully read, or refused."""
    try:
        return "whole" if read_program(data).complete else "not fully read"
    except NotAProgram:
        return "refused"


def main(lines: int) -> None:
    data = invented_program(lines)
    megabytes = len(data) / 1e6
    reader, loop = seconds(read_program, data), seconds(plain_loop, data)
    print(f"program      {megabytes:8.1f} MB, {data.count(10)} lines")
    print(f"reader       {megabytes / reader:8.1f} MB/s  {reader:.2f} s")
    print(f"plain loop   {megabytes / loop:8.1f} MB/s  {loop:.2f} s")
    print(f"ratio        {loop / reader:8.2f}       (aim: 0.33 or more)")
    peak = peak_memory_mb(data)
    aim = megabytes + MEMORY_AIM_MB
    print(f"peak memory  {peak:8.1f} MB    (aim: {aim:.1f} or less, the file included)")
    print(f"hostile files (aim: under {HOSTILE_AIM_S:.0f} s each)")
    for name, hostile in HOSTILE.items():
        print(f"  {name:32} {seconds(answer, hostile, times=1):6.3f} s  {answer(hostile)}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
