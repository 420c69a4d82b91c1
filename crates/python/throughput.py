"""What a Dask cluster of this machine does in a second, over one process of the command on
one core: `throughput.py KEYPROOF [--quick]`, run by `cargo xtask bench spread`.

The work grows with the workers, so that each has as much to do however many there are, and
every worker has one thread. What the machine itself allows is measured beside: the command
with a thread for each core, and as many processes of it as there are cores, which share
nothing but the machine. Puzzles and games are our own, each under a name of its own so that
no two are the same.
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

WORKERS = [1, 2, 4, 8, 16]
#: Machines of a cluster on paper, a core each, and what share of linear they are said to do.
CLUSTER, SHARE = 100, 0.9


class Work:
    """A task, the file that it is done on, how many copies of that are for each worker and
    how many are a piece."""

    def __init__(self, name, task, file, copies, together, options):
        self.name, self.task, self.options = name, task, options
        self.copies, self.file = copies, ROOT / "puzzles" / file
        self.text = self.file.read_text()
        self.size = together * len(self.text)
        self.each = self.text.count("[Event ")
        self.alone = None

    def write(self, folder, times):
        """A file that is so many times what one worker has to do."""
        file = Path(folder, f"{self.task}-{times}.pgn")
        with open(file, "w", encoding="utf-8") as out:
            for n in range(self.copies * times):
                out.write(self.text.replace('[Event "', f'[Event "{n}. ') + "\n")
        return file

    def tell(self, by, times, seconds):
        rate = self.each * self.copies * times / seconds
        self.alone = self.alone or rate
        gain = rate / self.alone
        print(f"{self.name:<8} {by:<36} {seconds:>7.1f} s {rate:>9.2f} a second "
              f"{gain:>6.2f} times {gain / times:>5.2f} of linear", flush=True)


def command(keyproof, work, file, cores):
    """A process of the command that may use these cores."""
    words = [keyproof, work.task, str(file), "--json"]
    for option, value in work.options.items():
        words += [f"--{option}", str(value)]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    return subprocess.Popen(words, preexec_fn=lambda: os.sched_setaffinity(0, cores), **quiet)


def by_command(keyproof, work, file, groups):
    """Seconds of a process for each group of cores, all at once on the same file."""
    begun = time.monotonic()
    for process in [command(keyproof, work, file, cores) for cores in groups]:
        process.wait()
    return time.monotonic() - begun


def by_cluster(client, work, file, folder):
    """Seconds of a cluster that has begun to run."""
    begun = time.monotonic()
    spread.spread(client, work.task, [file], folder, work.options, work.size)
    return time.monotonic() - begun


def measure(keyproof, works, folder):
    cores = sorted(os.sched_getaffinity(0))
    count = len(cores)
    for work in works:
        one, all_of_it = work.write(folder, 1), work.write(folder, count)
        work.tell("command, one core", 1, by_command(keyproof, work, one, [cores[:1]]))
        if count > 1:
            work.tell(f"command, {count} cores", count, by_command(keyproof, work, all_of_it, [cores]))
            alone = [[core] for core in cores]
            work.tell(f"{count} commands, one core each", count, by_command(keyproof, work, one, alone))
    for workers in [workers for workers in WORKERS if workers <= count]:
        with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None) as cluster:
            with Client(cluster) as client:
                client.run(__import__, "keyproof")
                for work in works:
                    file, into = work.write(folder, workers), Path(folder, f"{work.task}-{workers}")
                    # What is loaded but once, however long a collection is.
                    by_cluster(client, work, work.file, Path(folder, f"first-{workers}"))
                    work.tell(f"Dask, workers: {workers}", workers, by_cluster(client, work, file, into))
    for work in works:
        hours = 1e6 / work.alone / 3600
        wall = hours / CLUSTER / SHARE
        print(f"a million {work.name} on paper: {hours:.1f} hours of a core; "
              f"{wall:.2f} hours of {CLUSTER} cores at {SHARE} of linear")


def main():
    keyproof, quick = os.path.abspath(sys.argv[1]), "--quick" in sys.argv
    some = 1 if quick else 4
    works = [
        # Pieces that are alike, and as many for each worker, so that none waits for the last:
        # five copies of a lesson, or one game.
        Work("puzzles", "check", "thursday-night.pgn", 25 * some, 5, {}),
        Work("games", "moments", "games/the-queen-that-waited.pgn", 3 * some, 1, {"nodes": 20_000}),
    ]
    with tempfile.TemporaryDirectory() as folder:
        measure(keyproof, works, folder)


if __name__ == "__main__":
    main()
