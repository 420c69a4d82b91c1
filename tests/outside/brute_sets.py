"""Key sets and continuations by brute force, with the time that takes.

    brute_sets.py SECONDS PROCESSES < LINES

Each line is `N FEN`. Prints one line per position, in order:

    MS <tab> ANSWER

ANSWER holds every first move that forces mate in `N` or fewer with its length,
and for each of them and each reply the same of every continuation, in the form
that `prove` of `crates/bench` prints; or `capped`, when a position took SECONDS
of processor time and was given up. MS is processor time in milliseconds.
"""

import multiprocessing
import signal
import sys
import time

import chess

from brute import Mates


class Capped(Exception):
    pass


def cap(_signal, _frame):
    raise Capped


def lengths(mates, board, n):
    found = {m.uci(): mates.length(board, m, n) for m in list(board.legal_moves)}
    return {m: length for m, length in found.items() if length is not None}


def as_text(found):
    return ",".join(sorted(f"{m}={length}" for m, length in found.items()))


def sets(board, n):
    mates = Mates()
    keys = lengths(mates, board, n)
    texts = [as_text(keys)]
    for key, length in keys.items():
        board.push_uci(key)
        for reply in list(board.legal_moves):
            board.push(reply)
            texts.append(f"{key},{reply.uci()}:{as_text(lengths(mates, board, length - 1))}")
            board.pop()
        board.pop()
    return ";".join(sorted(texts))


def judge(line):
    n, fen = line.split(" ", 1)
    signal.signal(signal.SIGPROF, cap)
    begun = time.process_time()
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        answer = sets(chess.Board(fen), int(n))
    except Capped:
        answer = "capped"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return f"{(time.process_time() - begun) * 1000:.3f}\t{answer}"


SECONDS = float(sys.argv[1])


def main():
    lines = [line.strip() for line in sys.stdin if line.strip()]
    with multiprocessing.Pool(int(sys.argv[2])) as workers:
        for told in workers.imap(judge, lines, chunksize=1):
            print(told, flush=True)


if __name__ == "__main__":
    main()
