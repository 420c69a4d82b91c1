"""What a program says of many positions, held against a script of this folder.

The lines have, parted by tabs, a stratum, what is asked, and what is said.
"""

import sys
import time
from collections import Counter
from multiprocessing import Pool


class Capped(Exception):
    """It takes too long."""


def judged(task):
    differs, line, most, end = task
    stratum, *line = line
    if time.monotonic() > end:
        return stratum, ...
    try:
        return stratum, differs(line, most)
    except Capped:
        return stratum, None


def against(differs, jobs, most, seconds=None):
    """Judges the lines on standard input with so many processes; 1 if one differs.

    After so many seconds no further line is begun: the first of each stratum come first.

    `differs` takes what is asked and what is said, and the most that may be spent on
    it; it gives how many moves do what is asked, or a text if it differs.
    """
    lines = [line.rstrip("\n").split("\t") for line in sys.stdin if line.strip()]
    positions, keyed, moves, capped = Counter(), Counter(), Counter(), Counter()
    differences = 0
    seen = Counter()
    turns = []
    for line in lines:
        turns.append((seen[line[0]], line))
        seen[line[0]] += 1
    end = time.monotonic() + (seconds or 1e9)
    with Pool(jobs) as pool:
        turns = sorted(turns, key=lambda turn: turn[0])
        tasks = [(differs, line, most, end) for _, line in turns]
        for stratum, told in pool.imap_unordered(judged, tasks):
            if told is ...:
                continue
            if told is None:
                capped[stratum] += 1
                continue
            positions[stratum] += 1
            if isinstance(told, str):
                differences += 1
                print("DIFFERS", stratum, told, flush=True)
                continue
            keyed[stratum] += told > 0
            moves[stratum] += told
    print("stratum: positions, with keys, keys, capped")
    for stratum in dict.fromkeys(line[0] for line in lines):
        counts = positions[stratum], keyed[stratum], moves[stratum], capped[stratum]
        print(f"{stratum:20}", *(f"{count:7}" for count in counts))
    total = sum(positions.values())
    print(f"{total} positions, {sum(capped.values())} capped, {differences} differences")
    return int(differences > 0)
