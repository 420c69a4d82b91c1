"""Judges mate puzzles by brute force, apart from everything in Keyproof.

Reads PGN from a file (or `-` for standard input) with the PyPI package
`chess` (1.11.2), tries every legal move to the end, and prints a JSON list,
one object per game:

    {"event", "n", "keys": {uci: length}, "findings": [[kind, weight, path, move], ...]}

`keys` holds every first move that forces mate in `n` or fewer with its exact
length in the solver's moves; `path` is a list of UCI moves, and a finding
stands once for each move at fault. The rules for roles and findings are those
of the guide, written down here a second time. No pruning beyond stopping
at the first reply that holds.
"""

import json
import multiprocessing
import sys

import chess
import chess.pgn

GOOD = {1, 3, 7, 8}
BAD = {2, 4, 6}


class Mates:
    """Exact lengths of forced mates, remembered by position and moves left."""

    def __init__(self):
        self.known = {}

    def within(self, board, n):
        """Can the side to move force mate in at most `n` moves?"""
        if n == 0:
            return False
        if n == 1:
            return any(board.gives_check(m) and self.mates(board, m) for m in board.legal_moves)
        key = (board._transposition_key(), n)
        if key not in self.known:
            self.known[key] = any(self.length(board, m, n) is not None for m in board.legal_moves)
        return self.known[key]

    def mates(self, board, move):
        board.push(move)
        mated = board.is_checkmate()
        board.pop()
        return mated

    def length(self, board, move, n):
        """The least number of moves, this one included, in which `move`
        forces mate; None if more than `n` or never."""
        board.push(move)
        try:
            if board.is_checkmate():
                return 1
            replies = list(board.legal_moves)
            if not replies:
                return None
            for k in range(2, n + 1):
                if all(self.reply_loses(board, r, k - 1) for r in replies):
                    return k
            return None
        finally:
            board.pop()

    def reply_loses(self, board, reply, n):
        board.push(reply)
        lost = self.within(board, n)
        board.pop()
        return lost


def is_accepted(node, first):
    if node.nags & GOOD and node.nags & BAD:
        return None
    if first:
        return not node.nags & BAD
    if node.nags & GOOD:
        return True
    if node.nags & BAD:
        return False
    return None


class Checker:
    def __init__(self, unique, question):
        self.mates = Mates()
        self.unique = unique
        self.question = question
        self.findings = []

    def find(self, kind, weight, path, move):
        self.findings.append([kind, weight, path, move.uci() if move else ""])

    def solver(self, node, n, path, below_try=False):
        """A node at which the solver is to move with `n` moves left. Below a
        try only what the author claims is judged, not what he leaves out."""
        board = node.board()
        at_start = not path
        accepted, tries, unclear = [], [], []
        for i, child in enumerate(node.variations):
            {True: accepted, False: tries, None: unclear}[is_accepted(child, i == 0)].append(child)
        # A yes or no is about the first move written, whatever it claims.
        about_one = self.question == "yes or no" and len(node.variations) > 0
        no_key = at_start and not accepted and not unclear and not about_one
        if at_start:
            self.fits(board, len(node.variations), len(accepted), path)
        if no_key:
            self.find("unfinished_solution", "fault", path, None)
        lengths = {m: self.mates.length(board, m, n) for m in board.legal_moves}
        for child in unclear:
            self.find("ambiguous_variation", "fault", path, child.move)
        good = []
        for child in accepted:
            length = lengths[child.move]
            if length is None:
                self.find("no_solution" if at_start else "failing_answer", "fault", path, child.move)
                continue
            good.append(child)
            if at_start and length < n:
                self.find("short_solution", "fault", path, child.move)
            # Of a threat one line is written, which is shown.
            shown = below_try or self.question == "threat"
            self.after_accepted(child, n, path + [child.move.uci()], shown)
        for child in tries:
            if lengths[child.move] is not None:
                self.find("working_try", "fault", path, child.move)
            else:
                # Common practice, no source: a try is shown with what refutes it.
                if n > 1 and not child.variations and any(child.board().legal_moves):
                    self.find("unfinished_solution", "fault", path, child.move)
                self.after_try(child, n, path + [child.move.uci()])
        listed = {c.move for c in node.variations}
        best = min((lengths[c.move] for c in good), default=None)
        if at_start and not no_key or best is not None and not below_try:
            for move, length in lengths.items():
                if length is None or move in listed:
                    continue
                if at_start:
                    # Of moves to choose from, or one asked about, no other counts; a
                    # threat that is listed may be carried out by another man.
                    same = self.question == "threat" and any(
                        c.move.to_square == move.to_square and lengths[c.move] == length for c in good
                    )
                    if not same and self.question not in ("choice", "yes or no"):
                        self.find("cook", "fault", path, move)
                else:
                    kind = "short_solution" if length < best else "dual"
                    self.find(kind, "fault" if self.unique else "remark", path, move)

    def fits(self, board, written, accepted, path):
        """A choice has two to five first moves, one of them right; before a threat the
        other side must have been able to pass."""
        choice = self.question == "choice" and not (accepted < 2 and 2 <= written <= 5)
        before = board.copy(stack=False)
        before.turn = not before.turn
        before.ep_square = None
        passed = not (board.has_legal_en_passant() or board.is_check()) and any(before.legal_moves)
        threat = self.question == "threat" and not passed
        if choice or threat or self.question not in (None, "move", "choice", "yes or no", "threat"):
            self.find("unfit_question", "fault", path, None)

    def after_accepted(self, node, n, path, below_try):
        """The other side to move after a right move, the solver having
        `n - 1` moves left."""
        board = node.board()
        if board.is_checkmate():
            return
        if not node.variations:
            self.find("unfinished_solution", "fault", path[:-1], node.move)
            return
        answers = set()
        for child in node.variations:
            roles = [is_accepted(a, i == 0) for i, a in enumerate(child.variations)]
            answers |= {a.move for a, role in zip(child.variations, roles) if role}
            if True not in roles and None not in roles:
                self.find("unfinished_solution", "fault", path, child.move)
            if child.variations:
                self.solver(child, n - 1, path + [child.move.uci()], below_try)
        if below_try:
            return
        listed = {c.move for c in node.variations}
        for defence in list(board.legal_moves):
            if defence in listed:
                continue
            board.push(defence)
            met = any(a in board.legal_moves and self.mates.length(board, a, n - 1) is not None for a in answers)
            board.pop()
            self.find("unanswered_defence", "remark" if met else "fault", path, defence)

    def after_try(self, node, n, path):
        """The other side to move after a move that fails."""
        for reply in node.variations:
            works = not self.mates.within(reply.board(), n - 1)
            answered = reply.nags & BAD and not reply.nags & GOOD
            if not works and not answered:
                self.find("failing_refutation", "fault", path, reply.move)
            if answered and reply.variations:
                self.solver(reply, n - 1, path + [reply.move.uci()], below_try=True)


def judge(game):
    n = int(game.headers["Stipulation"].removeprefix("#"))
    board = game.board()
    unique = game.headers.get("Uniqueness") == "every move"
    checker = Checker(unique, game.headers.get("Question"))
    checker.solver(game, n, [])
    lengths = {m.uci(): checker.mates.length(board, m, n) for m in board.legal_moves}
    return {
        "event": game.headers.get("Event", ""),
        "n": n,
        "keys": {m: k for m, k in lengths.items() if k is not None},
        "findings": sorted(checker.findings),
    }


def main():
    source = sys.stdin if sys.argv[1] == "-" else open(sys.argv[1], encoding="utf-8")
    games = []
    while (game := chess.pgn.read_game(source)) is not None:
        if game.errors:
            sys.exit(f"{game.headers.get('Event')}: {game.errors}")
        games.append(game)
    with multiprocessing.Pool() as workers:
        json.dump(workers.map(judge, games, chunksize=1), sys.stdout)


if __name__ == "__main__":
    main()
