"""Draws by force, by brute force, apart from everything in Keyproof.

    draws.py MOST < FENs

Reads a FEN a line and prints a JSON list with an object for each,

    {uci: held}

that says of every first move whether the side to move holds a draw by it, all its
later moves being checks or ending the game: whether it can bring about mate,
stalemate or a game without the men to mate with, or go on for ever. null stands for
a move after which more than MOST positions with that side to move can be reached.

    draws.py --against JOBS MOST [SECONDS] < LINES

holds what the prover says against that: each line has, parted by tabs, a stratum, a
FEN, and of the moves that were decided whether they hold (`e2e4=1,d2d4=0`), as `cargo
xtask campaign outside draws` prints them. Exits with 1 if anything differs. A position
counts as capped if all its moves take more than MOST.

Everything that can be reached is set up; then whatever cannot be held is taken away
until nothing more can be. The rules of chess are those of the PyPI package `chess`
(1.11.2).
"""

import json
import sys

import chess

from against import Capped, against


def place(board):
    """All that makes two positions the same."""
    en_passant = board.ep_square if board.has_legal_en_passant() else None
    return board.board_fen(), board.turn, board.clean_castling_rights(), en_passant


def drawn(board):
    return board.is_stalemate() or board.is_insufficient_material()


def after(board, move):
    board = board.copy(stack=False)
    board.push(move)
    return board


def options(board, first):
    """The moves that may be played, each with the positions after its replies."""
    for move in [first] if first else list(board.legal_moves):
        there = after(board, move)
        if there.is_checkmate() or drawn(there):
            yield []
        elif first or there.is_check():
            yield [after(there, reply) for reply in list(there.legal_moves)]


def held(board, first, most):
    """Is a draw held by this first move?"""
    start = place(board)
    graph = {}
    waiting = [board]
    seen = {start}
    while waiting:
        board = waiting.pop()
        here = place(board)
        graph[here] = []
        for replies in options(board, first if here == start else None):
            following = set()
            for reply in replies:
                if drawn(reply):
                    continue
                there = place(reply)
                following.add(there)
                if there not in seen:
                    seen.add(there)
                    waiting.append(reply)
            graph[here].append(following)
        if len(seen) > most:
            return None
    kept = set(graph)
    while True:
        lost = {p for p in kept if not any(option <= kept for option in graph[p])}
        if not lost:
            return start in kept
        kept -= lost


def differs(line, most):
    """How many moves hold, or what differs."""
    fen, said = line
    board = chess.Board(fen)
    ours = dict(move.split("=") for move in said.split(",") if move)
    found = {uci: held(board, chess.Move.from_uci(uci), most) for uci in ours}
    decided = {uci: holds for uci, holds in found.items() if holds is not None}
    for uci, holds in decided.items():
        if str(int(holds)) != ours[uci]:
            return f"{fen} {uci}: {holds}, but said {ours[uci]}"
    if ours and not decided:
        raise Capped
    return sum(decided.values())


if __name__ == "__main__":
    if sys.argv[1:2] == ["--against"]:
        sys.exit(against(differs, *map(int, sys.argv[2:])))
    most = int(sys.argv[1])
    judged = []
    for line in filter(str.strip, sys.stdin):
        board = chess.Board(line.strip())
        moves = list(board.legal_moves)
        judged.append({m.uci(): held(board, m, most) for m in moves})
    json.dump(judged, sys.stdout)
