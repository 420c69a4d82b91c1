"""Checks every puzzle of collections, finds the moments of every game, or indexes every
position, on as many machines as a Dask cluster has.

    pip install keyproof 'dask[distributed]'
    python spread.py check puzzles.pgn --into results/
    python spread.py moments 2025.pgn 2026.pgn --into results/ --scheduler tcp://host:8786
    python spread.py moments 2025.pgn --into results/ --top 5 --nodes 50000
    python spread.py index 2025.pgn 2026.pgn --into results/

Collections are read as a stream and cut into pieces at the borders of games. A piece is
named by its text, where that begins, what is asked of it and the version of Keyproof; what
came of it lies in `results/pieces/NAME.jsonl`, written beside and then renamed. So the same
call goes on where it was stopped. A worker that dies loses nothing: Dask gives its piece to
another one. At the end `results/all.jsonl` has a line for each puzzle or game in the order
of the input, with its file and its number there.

Of an index the pieces are `NAME.index`, and `results/all.index` is all of them as one, which
`keyproof.seen` and `keyproof seen --in` take.

One process hands out all pieces, at 10 ms each: with hundreds of workers, or where a piece
is done in less than a second, let them be longer (--bytes).

Without --scheduler, a worker for each core of this machine is started.
"""

import argparse
import hashlib
import json
import os
import sys
import time
from pathlib import Path

import keyproof
from distributed import Client, LocalCluster, as_completed

from pieces import BYTES, pieces, worker

#: How many pieces are on their way for each worker.
AHEAD = 3


def name_of(task, options, first, line, text):
    """What a piece and its results are called: the same for the same work."""
    told = json.dumps([keyproof.__version__, task, options, first, line, text], sort_keys=True)
    return hashlib.sha256(told.encode()).hexdigest()[:32]


def ending(task):
    """What the files that it writes are called by."""
    return "index" if task == "index" else "jsonl"


def write(path, parts):
    """Writes a whole file or none, of bytes."""
    beside = path.with_suffix(f".{os.getpid()}.part")
    with open(beside, "wb") as file:
        file.writelines(parts)
        file.flush()
        os.fsync(file.fileno())
    os.replace(beside, path)


def spread(client, task, paths, into, options, size=BYTES, tell=lambda done, begun: None):
    """Has the cluster do all pieces that are not done yet, and puts the results together.

    Gives the number of pieces that were worked on, and the number of all.
    """
    folder = Path(into, "pieces")
    folder.mkdir(parents=True, exist_ok=True)
    end = ending(task)
    order, asked, worked = [], {}, 0
    work, running = worker(), as_completed()

    def take():
        nonlocal worked
        done = next(running)
        name = asked.pop(done.key)
        write(folder / f"{name}.{end}", [done.result()])
        worked += 1
        tell(worked, len(order))

    for path, first, line, text in pieces(paths, size):
        name = name_of(task, options, first, line, text)
        order.append((str(path), folder / f"{name}.{end}"))
        if order[-1][1].exists() or name in asked.values():
            continue
        ahead = AHEAD * max(1, sum(client.nthreads().values()))
        while len(asked) >= ahead:
            take()
        future = client.submit(work, task, options, first, line, text, key=f"{task}-{name}", pure=True)
        asked[future.key] = name
        running.add(future)
    while asked:
        take()
    if task == "index":
        parts = (done.read_bytes() for _, done in order)
        write(Path(into, f"all.{end}"), [keyproof.join_indexes(parts)])
    else:
        write(Path(into, f"all.{end}"), joined(order))
    return worked, len(order)


def joined(order):
    """All lines in the order of the input, each with its file."""
    for path, done in order:
        head = json.dumps({"file": path})[:-1].encode()
        with open(done, "rb") as file:
            for line in file:
                yield head + b", " + line[1:]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("task", choices=["check", "moments", "index"])
    parser.add_argument("files", nargs="+", metavar="FILE.pgn")
    parser.add_argument("--into", required=True, metavar="DIR")
    parser.add_argument("--scheduler", metavar="ADDRESS")
    parser.add_argument("--nodes", type=int, metavar="N")
    parser.add_argument("--top", type=int, metavar="K", help="moments of a game")
    parser.add_argument("--bytes", type=int, default=BYTES, metavar="N", help="length of a piece")
    asked = parser.parse_args()
    if asked.task == "index" and asked.nodes is not None:
        parser.error("--nodes is for check and moments")
    options = {} if asked.nodes is None else {"nodes": asked.nodes}
    if asked.top is not None:
        if asked.task != "moments":
            parser.error("--top is for moments")
        options["top"] = asked.top
    begun = time.monotonic()

    def tell(done, known):
        seconds = time.monotonic() - begun
        print(f"\r{done} pieces of {known} so far, {done / seconds:.1f} a second", end="", file=sys.stderr)

    cluster = asked.scheduler or LocalCluster(threads_per_worker=1, dashboard_address=None)
    with Client(cluster) as client:
        worked, known = spread(client, asked.task, asked.files, asked.into, options, asked.bytes, tell)
    result = Path(asked.into, f"all.{ending(asked.task)}")
    print(f"\n{known} pieces, {known - worked} of them done before: {result}", file=sys.stderr)


if __name__ == "__main__":
    main()
