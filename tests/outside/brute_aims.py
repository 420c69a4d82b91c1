"""Mates, selfmates, stalemates and helpmates by brute force, apart from Keyproof.

    brute_aims.py < LINES

Each line is `STIPULATION FEN`, such as `#2`, `s#2`, `==2`, `h#2` or `h#2.5`
before a position. With the rules of the PyPI package `chess` (1.11.2) every legal move
is tried to the end, without pruning beyond stopping at the first reply that
escapes. Prints a JSON list, one object per line:

    {"keys": {uci: length}, "lines": [[uci, ...], ...]}

`keys` holds every first move that forces what is asked in `n` or fewer with its
exact length in the solver's moves; in a helpmate, every one that leads to mate
of the same side, with the fewest half moves. `lines` holds the helpmates of
exactly the half moves asked, sorted.
"""

import json
import multiprocessing
import sys

import chess

from brute import Mates


def selfmates(board, move, n):
    """Does `move` force the other side to mate within `n` moves?"""
    board.push(move)
    try:
        replies = list(board.legal_moves)
        return bool(replies) and all(selfmated(board, r, n) for r in replies)
    finally:
        board.pop()


def selfmated(board, reply, n):
    board.push(reply)
    try:
        if board.is_checkmate():
            return True
        return n > 1 and any(selfmates(board, m, n - 1) for m in list(board.legal_moves))
    finally:
        board.pop()


def stalemates(board, move, n):
    """Does `move` force stalemate of the other side within `n` moves?"""
    board.push(move)
    try:
        if board.is_stalemate():
            return True
        if n == 1:
            return False
        replies = list(board.legal_moves)
        return bool(replies) and all(stalemated(board, r, n - 1) for r in replies)
    finally:
        board.pop()


def stalemated(board, reply, n):
    board.push(reply)
    try:
        return any(stalemates(board, m, n) for m in list(board.legal_moves))
    finally:
        board.pop()


def helpmates(board, n):
    """All lines of exactly `n` half moves that end in mate."""
    lines = []
    for move in list(board.legal_moves):
        board.push(move)
        if n > 1:
            lines += [[move.uci()] + rest for rest in helpmates(board, n - 1)]
        elif board.is_checkmate():
            lines.append([move.uci()])
        board.pop()
    return lines


def judge(line):
    stipulation, fen = line.strip().split(" ", 1)
    board = chess.Board(fen)
    keys, lines = {}, []
    if stipulation.startswith("h#"):
        half_moves = round(2 * float(stipulation[2:]))
        for length in range(2 - half_moves % 2, half_moves + 1, 2):
            lines = helpmates(board, length)
            for first, *_ in lines:
                keys.setdefault(first, length)
    elif stipulation.startswith("#"):
        n, mates = int(stipulation[1:]), Mates()
        for move in list(board.legal_moves):
            length = mates.length(board, move, n)
            if length is not None:
                keys[move.uci()] = length
    else:
        forces = selfmates if stipulation.startswith("s#") else stalemates
        n = int(stipulation[2:])
        for move in list(board.legal_moves):
            lengths = [k for k in range(1, n + 1) if forces(board, move, k)]
            if lengths:
                keys[move.uci()] = lengths[0]
    return {"keys": keys, "lines": sorted(lines)}


def main():
    with multiprocessing.Pool() as workers:
        json.dump(workers.map(judge, sys.stdin.readlines(), chunksize=1), sys.stdout)


if __name__ == "__main__":
    main()
