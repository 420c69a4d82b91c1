"""Gains of material by brute force, apart from everything in Keyproof.

Reads lines `K N FEN` and prints a JSON list, one object per line:

    {uci: length}

with every first move that forces a gain of at least K within N moves of the
solver, by the fewest moves, as the user's guide defines it: after a move of the
solver's the balance of material (pawn 1, knight and bishop 3, rook 5, queen 9) is
K higher than at the start, and stays so after all exchanges. In the exchange game
each side in turn takes, promotes or stops, which ends it; a side in check must
answer by any legal move. Being mated loses everything, stalemate and a game of
64 plies count as failing. Mate within the N moves is a gain of everything.

    gains.py --against JOBS MOST [SECONDS] < LINES

holds what the prover says against that: each line has, parted by tabs, a stratum,
`K N FEN`, and the moves that are said to gain (`e2e4=2,d2d4=1`), as
`cargo xtask campaign outside gains` prints them. Prints what differs and a table;
positions that take more than MOST moves are counted as capped. Exits with 1 if
anything differs.

The rules of chess are those of the PyPI package `chess` (1.11.2).
"""

import json
import sys

import chess

from against import Capped, against

WORTH = {
    chess.PAWN: 1,
    chess.KNIGHT: 3,
    chess.BISHOP: 3,
    chess.ROOK: 5,
    chess.QUEEN: 9,
    chess.KING: 0,
}


def balance(board, color):
    total = 0
    for role, worth in WORTH.items():
        total += worth * len(board.pieces(role, color))
        total -= worth * len(board.pieces(role, not color))
    return total


class Gains:
    def __init__(self, board, k, most=None):
        self.solver = board.turn
        self.target = balance(board, self.solver) + k
        self.left = most

    def push(self, board, move):
        if self.left is not None:
            self.left -= 1
            if self.left < 0:
                raise Capped
        board.push(move)

    def reached(self, board):
        return balance(board, self.solver) >= self.target

    def gains(self, board, move, n):
        """Does this move of the solver's force the gain, as the first of `n`?"""
        self.push(board, move)
        answer = self.after(board, n)
        board.pop()
        return answer

    def after(self, board, n):
        if board.is_checkmate():
            return True
        if board.is_stalemate():
            return False
        if self.reached(board) and self.stays(board, 0):
            return True
        if n <= 1:
            return False
        for reply in list(board.legal_moves):
            self.push(board, reply)
            forced = any(self.gains(board, m, n - 1) for m in list(board.legal_moves))
            board.pop()
            if not forced:
                return False
        return True

    def stays(self, board, plies):
        solves = board.turn == self.solver
        if board.is_checkmate():
            return not solves
        if board.is_stalemate() or plies >= 64:
            return False
        check = board.is_check()
        if not check and self.reached(board) == solves:
            return solves
        for move in list(board.legal_moves):
            if check or board.is_capture(move) or move.promotion:
                self.push(board, move)
                answer = self.stays(board, plies + 1)
                board.pop()
                if answer == solves:
                    return solves
        return not solves


def keys(line, most=None):
    k, n, fen = line.split(" ", 2)
    board = chess.Board(fen)
    gains = Gains(board, int(k), most)
    found = {}
    for move in list(board.legal_moves):
        for length in range(1, int(n) + 1):
            if gains.gains(board, move, length):
                found[move.uci()] = length
                break
    return found


def differs(line, most):
    """How many moves gain, or what differs."""
    asked, said = line
    found = {uci: str(length) for uci, length in keys(asked, most).items()}
    ours = dict(move.split("=") for move in said.split(",") if move)
    return len(found) if found == ours else f"{asked}: {found}, but said {ours}"


if __name__ == "__main__":
    if sys.argv[1:2] == ["--against"]:
        sys.exit(against(differs, *map(int, sys.argv[2:])))
    json.dump([keys(line.strip()) for line in sys.stdin if line.strip()], sys.stdout)
