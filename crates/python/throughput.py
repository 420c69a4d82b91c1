"""What a Dask cluster of this machine does in a second, over one process of the command on
one core: `throughput.py KEYPROOF [--quick]`, run by `cargo xtask bench spread`.

Each is given the same puzzles and games, of our own and each under names of its own so that
no two are the same, and every worker has one thread.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from distributed import Client, LocalCluster

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "crates/python/examples"))

import spread  # noqa: E402

#: Machines of a cluster on paper, a core each, and what share of linear they are said to do.
CLUSTER, SHARE = 100, 0.9


def variants(paths, count, file):
    texts = [path.read_text() for path in paths]
    with open(file, "w", encoding="utf-8") as out:
        for n in range(count):
            for text in texts:
                out.write(text.replace('[Event "', f'[Event "{n}. ') + "\n")


def by_command(keyproof, words):
    """Seconds of one process that may use one core."""
    core = min(os.sched_getaffinity(0))
    begun = time.monotonic()
    subprocess.run(
        [keyproof, *words, "--json"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        preexec_fn=lambda: os.sched_setaffinity(0, {core}),
        check=False,
    )
    return time.monotonic() - begun


def by_cluster(workers, task, file, options, size, folder):
    """Seconds of a cluster that has begun to run."""
    with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None) as cluster:
        with Client(cluster) as client:
            client.run(__import__, "keyproof")
            begun = time.monotonic()
            spread.spread(client, task, [file], folder, options, size)
            return time.monotonic() - begun


def measure(keyproof, name, task, file, count, options, size):
    words = [task, str(file)]
    for option, value in options.items():
        words += [f"--{option}", str(value)]
    alone = by_command(keyproof, words)
    hours = alone / count * 1e6 / 3600
    print(f"{count} {name}, by the command on one core: {count / alone:.1f} a second")
    for workers in [1, 2, 4, 8, 16]:
        if workers > len(os.sched_getaffinity(0)):
            break
        with tempfile.TemporaryDirectory() as folder:
            seconds = by_cluster(workers, task, file, options, size, folder)
        rate = alone / seconds
        print(f"  {workers} workers: {rate:.2f} times that, {rate / workers:.2f} of linear")
    wall = hours / CLUSTER / SHARE
    print(f"  a million on paper: {hours:.1f} hours of a core; {wall:.2f} hours of {CLUSTER} at {SHARE} of linear")


def main():
    keyproof, quick = sys.argv[1], "--quick" in sys.argv
    with tempfile.TemporaryDirectory() as folder:
        puzzles, games = Path(folder, "puzzles.pgn"), Path(folder, "games.pgn")
        count = 40 if quick else 400
        variants([ROOT / "puzzles/thursday-night.pgn"], count, puzzles)
        measure(keyproof, "puzzles", "check", puzzles, 12 * count, {}, spread.BYTES)
        count = 4 if quick else 20
        variants(sorted((ROOT / "puzzles/games").glob("*.pgn")), count, games)
        measure(keyproof, "games", "moments", games, 2 * count, {"nodes": 20000}, 1)


if __name__ == "__main__":
    main()
