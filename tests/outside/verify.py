"""Checks certificates a second time, apart from everything in Keyproof.

    verify.py FILE...

Knows the grammar of `crates/certify/README.md` and takes the rules of chess
from the PyPI package `chess` (1.11.2). Prints one line per file, in order:

    accept FILE: CLAIMS claims, POSITIONS positions
    reject FILE: line LINE: REASON

Exits with 0 if all are accepted, 1 if one is rejected, 2 if one cannot be read.
"""

import sys
from dataclasses import dataclass, field

import chess

HEADER = ["keyproof", "certificate", "1"]

WORTH = {
    chess.PAWN: 1,
    chess.KNIGHT: 3,
    chess.BISHOP: 3,
    chess.ROOK: 5,
    chess.QUEEN: 9,
    chess.KING: 0,
}


class Reject(Exception):
    """The text does not prove what it claims; says why."""


@dataclass
class Goal:
    """What a node must show of a position, its solver to move."""

    board: chess.Board
    kind: str  # "w", "s" or "d"
    left: int  # the solver's moves left; 0 where a draw is held
    key: str = None  # the first move that a claim is about
    spared: tuple = ()  # the first moves an only claim leaves out
    least: int = None  # the balance a gain must reach; None for mate

    def same_but_for_left(self, other):
        mine = (self.kind, self.key, self.spared, self.least)
        theirs = (other.kind, other.key, other.spared, other.least)
        return place(self.board) == place(other.board) and mine == theirs

    def below(self, board):
        return Goal(board, self.kind, self.left - 1, least=self.least)

    def reached(self, after):
        """Does the solver's move that led here mate, or does the gain stand?"""
        if after.is_checkmate():
            return True
        if self.least is None:
            return False
        solver = self.board.turn
        return balance(after, solver) >= self.least and kept(after, solver, self.least)


@dataclass
class Certificate:
    start: chess.Board = None
    claims: int = 0
    nodes: int = 0
    goals: dict = field(default_factory=dict)
    kept: dict = field(default_factory=dict)  # the places of the d nodes so far
    positions: int = 0

    def read(self, words):
        if self.start is None:
            if words[0] != "fen":
                raise Reject("no FEN")
            self.start = position(" ".join(words[1:]))
        elif words[0] == "claim":
            self.claim(words[1:])
        else:
            self.node(words)

    def claim(self, words):
        if self.nodes or len(words) < 4 or words[-2] != "node":
            raise Reject("not a claim, or not above the nodes")
        kind, *rest = words[:-2]
        if kind == "draw":
            if len(rest) != 2 or rest[0] != "by":
                raise Reject("not a claim")
            legal(self.start, rest[1])
            self.claims += 1
            self.expect(words[-1], Goal(self.start, "d", 0, key=rest[1]))
            return
        least = None
        if kind == "gain" or (kind == "only" and rest[0] == "gain"):
            gain, *rest = rest if kind == "gain" else rest[1:]
            least = balance(self.start, self.start.turn) + whole(gain)
        if not rest:
            raise Reject("not a claim")
        left, *firsts = rest
        if kind == "only":
            goal = Goal(self.start, "s", number(left), spared=tuple(firsts), least=least)
        elif kind in ("mate", "gain") and len(firsts) == 2 and firsts[0] == "by":
            firsts = firsts[1:]
            goal = Goal(self.start, "w", number(left), key=firsts[0], least=least)
        else:
            raise Reject("not a claim")
        for first in firsts:
            legal(self.start, first)
        self.claims += 1
        self.expect(words[-1], goal)

    def node(self, words):
        self.nodes += 1
        if number(words[0]) != self.nodes:
            raise Reject(f"not node {self.nodes}")
        goal = self.goals.pop(self.nodes, None)
        if goal is None:
            raise Reject("unused node")
        if words[1:2] != [goal.kind]:
            raise Reject(f"not a node of kind {goal.kind}")
        prove = {"w": self.won, "s": self.safe, "d": self.drawn}
        prove[goal.kind](goal, words[2:])

    def won(self, goal, words):
        if not words:
            raise Reject("no move")
        text = words[0].rstrip("#")
        if goal.key not in (None, text):
            raise Reject("not the move claimed")
        after = self.play(goal.board, text)
        replies = [move.uci() for move in after.legal_moves]
        answer = answers(replies, words[1:])
        if text != words[0]:
            if not goal.reached(after):
                raise Reject(f"{text} does not end it")
            return
        if not replies:
            raise Reject(f"the game is over after {text}")
        if goal.left < 2:
            raise Reject("too many moves")
        for reply in replies:
            board = self.play(after, reply)
            met = answer(reply)
            if met.endswith("#"):
                if not goal.reached(self.play(board, met[:-1])):
                    raise Reject(f"{reply} {met} does not end it")
            else:
                self.expect(met, goal.below(board))

    def safe(self, goal, words):
        moves = [move.uci() for move in goal.board.legal_moves]
        moves = [move for move in moves if move not in goal.spared]
        answer = answers(moves, words)
        for move in moves:
            after = self.play(goal.board, move)
            if goal.reached(after):
                raise Reject(f"{move} ends it")
            if goal.left == 1 or after.is_stalemate():
                continue
            reply, _, node = answer(move).partition(":")
            board = self.play(after, reply)
            if goal.left > 2:
                self.expect(node, goal.below(board))
            elif can_end(goal, board):
                raise Reject(f"{move} {reply} can be answered")

    def drawn(self, goal, words):
        """Every way leads to a node of this kind, or to a game that is not lost."""
        if not words or goal.key not in (None, words[0]):
            raise Reject("not the move claimed, or none")
        self.kept[self.nodes] = place(goal.board)
        after = self.play(goal.board, words[0])
        boards = {}
        for reply in [] if over(after) else after.legal_moves:
            board = after.copy(stack=False)
            board.push(reply)
            if not over(board):
                boards[reply.uci()] = board
        answer = answers(list(boards), words[1:])
        for reply, board in boards.items():
            self.positions += 1
            node = answer(reply)
            if number(node) not in self.kept:
                self.expect(node, Goal(board, "d", 0))
            elif self.kept[number(node)] != place(board):
                raise Reject(f"node {node} is another position")

    def expect(self, node, goal):
        node = number(node)
        if node <= self.nodes:
            raise Reject(f"node {node} is not below")
        known = self.goals.setdefault(node, goal)
        if not known.same_but_for_left(goal):
            raise Reject(f"node {node} has two positions")
        stricter = min if goal.kind == "w" else max
        known.left = stricter(known.left, goal.left)

    def play(self, board, text):
        move = legal(board, text)
        board = board.copy(stack=False)
        board.push(move)
        self.positions += 1
        return board

    def end(self):
        if not self.claims:
            raise Reject("no claim")
        if self.goals:
            raise Reject(f"node {min(self.goals)} is missing")


def verify(text):
    """The certificates of a text, or a line and a reason."""
    certificates = []
    last = 1
    try:
        for line, words in enumerate(map(str.split, text.split("\n")), start=1):
            if not words:
                continue
            if words != HEADER and not certificates:
                raise Reject("no header")
            if words == HEADER:
                if certificates:
                    certificates[-1].end()
                certificates.append(Certificate())
            else:
                certificates[-1].read(words)
            last = line
        if not certificates:
            raise Reject("no header")
        line = last
        certificates[-1].end()
    except Reject as reason:
        return line, reason
    return certificates


def answers(moves, words):
    """A function from each move to what meets it."""
    named = {}
    usual = None
    for word in words:
        met, colon, answer = word.partition(":")
        if not colon:
            if usual is not None:
                raise Reject(f"{word} out of place")
            usual = word
        elif met not in moves or met in named:
            raise Reject(f"{met} is illegal or met twice")
        else:
            named[met] = answer

    def answer(move):
        met = named.get(move, usual)
        if met is None:
            raise Reject(f"{move} is not met")
        return met

    return answer


def position(fen):
    try:
        board = chess.Board(fen)
    except ValueError as fault:
        raise Reject(f"FEN: {fault}") from fault
    if not board.is_valid():
        raise Reject(f"FEN: {board.status()!r}")
    return board


def place(board):
    """All that makes two positions the same."""
    en_passant = board.ep_square if board.has_legal_en_passant() else None
    return board.board_fen(), board.turn, board.clean_castling_rights(), en_passant


def legal(board, text):
    try:
        move = chess.Move.from_uci(text)
    except ValueError:
        move = chess.Move.null()
    # The library also knows castling as the king's move to its rook.
    if board.is_legal(move) and board.uci(move) == text:
        return move
    raise Reject(f"{text} is not legal")


def over(board):
    """Is the game drawn?"""
    return board.is_stalemate() or board.is_insufficient_material()


def can_end(goal, board):
    """Can the solver, to move, be done at once?"""
    for move in board.legal_moves:
        if goal.least is not None or board.gives_check(move):
            board.push(move)
            done = goal.reached(board)
            board.pop()
            if done:
                return True
    return False


def balance(board, color):
    total = 0
    for role, worth in WORTH.items():
        total += worth * len(board.pieces(role, color))
        total -= worth * len(board.pieces(role, not color))
    return total


def kept(board, solver, least, plies=0):
    """Does the solver come out of the exchange game with no less?"""
    mine = board.turn == solver
    if board.is_checkmate():
        return not mine
    if board.is_stalemate() or plies >= 64:
        return False
    check = board.is_check()
    if not check and (balance(board, solver) >= least) == mine:
        return mine
    for move in list(board.legal_moves):
        if check or board.is_capture(move) or move.promotion:
            board.push(move)
            answer = kept(board, solver, least, plies + 1)
            board.pop()
            if answer == mine:
                return mine
    return not mine


def whole(text):
    """A whole number of pawns, of at most three digits."""
    try:
        pawns = int(text)
    except ValueError:
        pawns = 1000
    if abs(pawns) >= 1000 or str(pawns) != text:
        raise Reject(f"{text!r} is not a whole number")
    return pawns


def number(text):
    if not (text.isascii() and text.isdigit() and len(text) < 10 and int(text) > 0):
        raise Reject(f"{text!r} is not a number from 1")
    return int(text)


def main(paths):
    worst = 0
    for path in paths:
        try:
            with open(path, encoding="utf-8") as file:
                found = verify(file.read())
        except (OSError, UnicodeDecodeError) as fault:
            print(f"unreadable {path}: {fault}", file=sys.stderr)
            worst = 2
            continue
        if isinstance(found, tuple):
            line, reason = found
            print(f"reject {path}: line {line}: {reason}")
            worst = max(worst, 1)
        else:
            claims = sum(certificate.claims for certificate in found)
            positions = sum(certificate.positions for certificate in found)
            print(f"accept {path}: {claims} claims, {positions} positions")
    return worst


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
