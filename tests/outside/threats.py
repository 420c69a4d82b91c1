"""What is threatened, by brute force, apart from everything in Keyproof.

Reads lines with a FEN and prints a JSON object for each, on a line of its own:

    {"fen", "moves": {uci: {"mate"} or {"net", "length", "dear"}},
     "threats": [{"moves", "mate" or "net", "quiet"}], "rows": [{"left", "replies"}]}

or {"fen", "none": "check" or "over"} where nobody may pass.

`moves` are all moves that, after the side to move has passed, force mate within
three moves ("mate" says in how many), or gain (as `gains.py` defines it, "net" the
most, within "length" moves, two at most). A gain is `dear` if after it the other side
forces mate within two moves, or, where it stands at once, gains within two all that it
brought: then it is nobody's threat.

`rows` says what each legal reply leaves: for each of `moves`, in their order, 1 or
0 for a mate that is still as soon or not, and for a gain the most that it still
gains, up to its net. Nothing is left of what is slower than at once after a reply
that loses as much at once to another move, which did not win it before: that is the
reply's own fault. Replies that leave the same stand together.

`threats` are those of the moves that are independent, the greatest first: each is
left standing by a reply that parries all others of them. A mate stands if it is as
soon; a gain if more than a third of it is left. Moves that mate on one square, and
moves that take the same man at once, are one threat; so are two that stand without
each other but then always take what the other may take. Of equals, the one is preferred that more
replies leave. "net" is what a threat gains after a reply
that parries all others, and "moves" names all moves that could take its place. At
most four are told.

The rules of chess are those of the PyPI package `chess` (1.11.2).
"""

import json
import sys
import time

import chess

from gains import WORTH, Gains, balance

LONGEST_MATE = 3
LONGEST_GAIN = 2
MOST_NET = 30
MOST_THREATS = 4


def exchanging(board):
    last_ranks = board.pawns & (chess.BB_RANK_2 | chess.BB_RANK_7)
    pushed = board.generate_legal_moves(last_ranks, chess.BB_BACKRANKS & ~board.occupied)
    return list(board.generate_legal_captures()) + [m for m in pushed if m.promotion]


def taking(board, move):
    taken = board.piece_type_at(move.to_square) or 0
    return board.piece_type_at(move.from_square) - 10 * taken - (move.promotion or 0)


def maybe_checking(board):
    """The moves that give check, and some more: those to where a man of the kind would
    stand in the king's way, those of men that may have stood in another's way, and all
    special ones."""
    king = board.king(not board.turn)
    ours = board.occupied_co[board.turn]
    lines = chess.BB_RANK_ATTACKS[king][chess.BB_RANK_MASKS[king] & board.occupied]
    lines |= chess.BB_FILE_ATTACKS[king][chess.BB_FILE_MASKS[king] & board.occupied]
    slants = chess.BB_DIAG_ATTACKS[king][chess.BB_DIAG_MASKS[king] & board.occupied]
    hiding = (lines | slants) & ours
    checks = {
        board.pawns: chess.BB_PAWN_ATTACKS[not board.turn][king] | chess.BB_BACKRANKS,
        board.knights: chess.BB_KNIGHT_ATTACKS[king],
        board.bishops: slants,
        board.rooks: lines,
        board.queens: lines | slants,
    }
    yield from board.generate_legal_moves(hiding)
    for men, squares in checks.items():
        if men & ours & ~hiding:
            yield from board.generate_legal_moves(men & ours & ~hiding, squares)
    yield from board.generate_legal_ep()
    for move in board.generate_castling_moves():
        if board.is_legal(move):
            yield move


def put_first(known, reply):
    if reply in known:
        known.remove(reply)
    known.insert(0, reply)


class Mates:
    """Mates by trying everything; what refuted a sister move is tried first."""

    def __init__(self):
        self.at_once = {}
        self.refuters = {}

    def mates_at_once(self, board):
        key = board._transposition_key()
        if key not in self.at_once:
            self.at_once[key] = False
            for move in maybe_checking(board):
                board.push(move)
                mated = board.is_checkmate()
                board.pop()
                if mated:
                    self.at_once[key] = True
                    break
        return self.at_once[key]

    def some(self, board, n):
        if n == 1:
            return self.mates_at_once(board)
        checks = {m for m in maybe_checking(board) if board.gives_check(m)}
        moves = sorted(board.legal_moves, key=lambda m: m not in checks)
        return any(self.forces(board, move, n) for move in moves)

    def forces(self, board, move, n):
        """Does the move force mate within `n`, itself the first?"""
        board.push(move)
        try:
            replies = list(board.legal_moves)
            if not replies:
                return board.is_check()
            if n == 1 or board.is_insufficient_material():
                return False
            known = self.refuters.setdefault((n, board.ply()), [])
            replies.sort(key=lambda r: known.index(r) if r in known else len(known))
            for reply in replies:
                board.push(reply)
                forced = self.some(board, n - 1)
                board.pop()
                if not forced:
                    put_first(known, reply)
                    return False
            return True
        finally:
            board.pop()

    def length(self, board, move, most=LONGEST_MATE):
        return next((n for n in range(1, most + 1) if self.forces(board, move, n)), None)


class Winning(Gains):
    """`Gains`, sparing what cannot matter: a move that takes nothing and mates nobody
    does not raise the balance. What refuted a sister move is tried first."""

    mates = Mates()

    def __init__(self, board, k):
        super().__init__(board, k)
        self.known = []
        self.stayed = {}

    def stays(self, board, plies):
        key = (board._transposition_key(), plies > 40 and plies)
        if key not in self.stayed:
            self.stayed[key] = self.comes_out(board, plies)
        return self.stayed[key]

    def comes_out(self, board, plies):
        """As `Gains.stays`, what takes the most by the least man first."""
        solves = board.turn == self.solver
        if board.is_check():
            moves = list(board.legal_moves)
            if not moves:
                return not solves
        else:
            stops = self.reached(board) == solves
            if (stops or plies >= 64) and not any(board.generate_legal_moves()):
                return False
            if stops and plies < 64:
                return solves
            moves = exchanging(board)
            if not moves and not any(board.generate_legal_moves()):
                return False
        if plies >= 64:
            return False
        moves.sort(key=lambda m: taking(board, m))
        for move in moves:
            board.push(move)
            answer = self.stays(board, plies + 1)
            board.pop()
            if answer == solves:
                return solves
        return not solves

    def last(self, board):
        """The moves that gain at once."""
        reached = self.reached(board)
        moves = list(board.legal_moves) if reached else exchanging(board)
        return (m for m in moves if self.gains(board, m, 1))

    def wins_at_once(self, board):
        return any(True for _ in self.last(board)) or self.mates.mates_at_once(board)

    def after(self, board, n):
        if n == 1:
            return super().after(board, 1)
        if super().after(board, 1):
            return True
        replies = list(board.legal_moves)
        if not replies:
            return False
        known = self.known
        replies.sort(key=lambda r: known.index(r) if r in known else len(known))
        for reply in replies:
            board.push(reply)
            wins = self.wins_at_once(board)
            board.pop()
            if not wins:
                put_first(known, reply)
                return False
        return True


def most(board, move, gains, top=MOST_NET):
    """The most that a move gains, 0 if nothing; `gains` keeps a search for each."""

    def does(k):
        return gains.setdefault(k, Winning(board, k)).gains(board, move, LONGEST_GAIN)

    if not does(1):
        return 0
    if top < MOST_NET and does(top):
        return top
    net = 1
    while net < top and does(net + 1):
        net += 1
    return net


def where_from(board, move):
    """The square where what is taken, or promotes, stands."""
    if board.is_en_passant(move):
        return chess.square(chess.square_file(move.to_square), chess.square_rank(move.from_square))
    return move.to_square if board.is_capture(move) else move.from_square


def brings(board, move):
    taken = WORTH[chess.PAWN] if board.is_en_passant(move) else 0
    if board.piece_type_at(move.to_square) and not board.is_castling(move):
        taken = WORTH[board.piece_type_at(move.to_square)]
    return taken + (WORTH[move.promotion] - 1 if move.promotion else 0)


def prey(board, move, net):
    """What a move takes, if that is more than a third of what it nets or stands at once;
    else what is taken, or promotes, next, against the replies that hold it to its net.
    Where it stands before the move."""
    if brings(board, move) > net // 3 or Winning(board, net).gains(board, move, 1):
        return {where_from(board, move)}
    holds, wins = Winning(board, net + 1), Winning(board, net)
    found = set()
    board.push(move)
    for reply in list(board.legal_moves):
        board.push(reply)
        if not holds.wins_at_once(board):
            taking = [m for m in wins.last(board) if board.is_capture(m) or m.promotion]
            squares = {where_from(board, m) for m in taking}
            found |= {reply.from_square if s == reply.to_square else s for s in squares}
        board.pop()
    board.pop()
    return {move.from_square if s == move.to_square else s for s in found}


def is_dear(board, move, length):
    before = balance(board, board.turn)
    board.push(move)
    theirs = list(board.legal_moves)
    dear = any(Winning.mates.length(board, m, 2) for m in theirs)
    if length == 1 and not dear:
        gains = Winning(board, balance(board, not board.turn) - before)
        dear = any(gains.gains(board, m, LONGEST_GAIN) for m in theirs)
    board.pop()
    return dear


def same(board, move, passed):
    """Whether the move can be made after a reply as after the pass."""
    return (
        move in board.legal_moves
        and board.piece_type_at(move.from_square) == passed.piece_type_at(move.from_square)
        and board.is_capture(move) == passed.is_capture(move)
        and board.piece_type_at(move.to_square) == passed.piece_type_at(move.to_square)
    )


def found_after(passed):
    found = {}
    gains = {}
    for move in list(passed.legal_moves):
        mate = Winning.mates.length(passed, move)
        if mate:
            found[move] = {"mate": mate}
            continue
        net = most(passed, move, gains)
        if net == 0:
            continue
        length = 1 if gains[net].gains(passed, move, 1) else 2
        found[move] = {
            "net": net,
            "length": length,
            "dear": is_dear(passed, move, length),
        }
    return dict(sorted(found.items(), key=lambda item: item[0].uci()))


def left(board, passed, found):
    """What is left of each threatened move, after a reply."""
    row, gains = [], {}
    for move, what in found.items():
        if not same(board, move, passed):
            row.append(0)
        elif "mate" in what:
            soon = Winning.mates.forces(board, move, what["mate"])
            row.append(int(soon and not (what["mate"] > 1 and blunders_mate(board, found))))
        else:
            net = most(board, move, gains, what["net"])
            if net and what["length"] > 1 and blunders(board, net, passed, found):
                net = 0
            row.append(net)
    return row


def blunders(board, net, passed, found):
    """Whether the reply that was made loses as much at once, to a move that did not
    win it before: then what it loses is not lost to a threat."""
    winning = Winning(board, net)
    for move in winning.last(board):
        known = found.get(move, {})
        was = known.get("length") == 1 and known["net"] >= net or "mate" in known
        if not (was and same(board, move, passed)):
            return True
    return blunders_mate(board, found, LONGEST_MATE)


def blunders_mate(board, found, known=1):
    """Whether a move mates at once that did not mate within `known` before."""
    for move in list(maybe_checking(board)):
        sooner = found.get(move, {}).get("mate", known + 1) <= known
        if not sooner and Winning.mates.forces(board, move, 1):
            return True
    return False


def alike(one, other):
    """Whether each always takes what the other may take."""
    mine, theirs = set().union(*one), set().union(*other)
    return all(taken & theirs for taken in one) and all(taken & mine for taken in other)


class Independent:
    """Which moves are threats of their own; `rows` are values left by replies."""

    def __init__(self, board, passed, found, rows):
        self.board, self.passed, self.found = board, passed, found
        self.rows = [(dict(zip(found, row)), replies) for row, replies in rows.items()]

    def rank(self, move):
        what = self.found[move]
        man = self.passed.piece_type_at(move.from_square)
        length = what.get("mate", what.get("length"))
        left = sum(len(replies) for row, replies in self.rows if self.stands([move], row))
        return (-what.get("net", 1000), length, -left, man)

    def direct(self):
        """Moves that mate on one square as soon, or take one man at once, together; every
        other move by itself. The greatest and soonest first, of those the ones that most
        replies leave."""
        groups = {}
        for move in sorted(self.found, key=self.rank):
            what = self.found[move]
            if what.get("dear"):
                continue
            if "mate" in what:
                key = ("mate", what["mate"], move.to_square)
            elif what["length"] == 1:
                key = ("takes", where_from(self.passed, move))
            else:
                key = move
            groups.setdefault(key, []).append(move)
        return list(groups.values())

    def stands(self, group, row):
        return any(row[m] > self.found[m].get("net", 0) // 3 for m in group)

    def alone(self, group, others):
        """The rows that leave this standing and none of the others."""
        return [
            (row, replies)
            for row, replies in self.rows
            if self.stands(group, row) and not any(self.stands(o, row) for o in others)
        ]

    def own(self, group, others):
        """What it nets where nothing else is left standing, and what it takes then, by
        the reply."""
        alone = self.alone(group, others)
        net = max(row[m] for row, _ in alone for m in group)
        taken = []
        for row, replies in alone:
            move = max(group, key=lambda m: row[m])
            if row[move] < net:
                continue
            reply = chess.Move.from_uci(replies[0])
            self.board.push(reply)
            squares = prey(self.board, move, row[move])
            self.board.pop()
            taken.append({reply.from_square if s == reply.to_square else s for s in squares})
        return net, taken

    def is_mate(self, group):
        return "mate" in self.found[group[0]]

    def same(self, one, other, told):
        """Whether two that stand without each other do the same."""
        if self.is_mate(one) or self.is_mate(other):
            squares = {m.to_square for m in one} & {m.to_square for m in other}
            return self.is_mate(one) and self.is_mate(other) and bool(squares)
        rest = [group for group in told if group is not other]
        return alike(self.own(one, rest + [other])[1], self.own(other, rest + [one])[1])

    def told(self):
        told = []
        for group in self.direct():
            every = told + [group]
            if not all(self.alone(g, [o for o in every if o is not g]) for g in every):
                continue
            if not any(self.same(group, other, told) for other in told):
                told = every
            if len(told) == MOST_THREATS:
                break
        return told

    def written(self):
        told = self.told()
        result = []
        for group in told:
            others = [o for o in told if o is not group]
            what = self.found[group[0]]
            entry = {"moves": [m.uci() for m in group]}
            if "mate" in what:
                entry["mate"] = what["mate"]
            else:
                entry["net"], mine = self.own(group, others)
            for other in self.direct():
                if other in told or self.is_mate(other) != self.is_mate(group):
                    continue
                swapped = others + [other]
                if not all(self.alone(g, [o for o in swapped if o is not g]) for g in swapped):
                    continue
                if self.is_mate(group):
                    does = self.found[other[0]]["mate"] == entry["mate"]
                else:
                    net, theirs = self.own(other, others)
                    does = net >= entry["net"] and alike(theirs, mine)
                if does:
                    entry["moves"] += [m.uci() for m in other]
            entry["quiet"] = not self.passed.is_capture(group[0])
            result.append(entry)
        return sorted(result, key=lambda e: -e.get("net", 1000))


def threats(fen, table=True):
    board = chess.Board(fen)
    if board.is_game_over():
        return {"fen": fen, "none": "over"}
    if board.is_check():
        return {"fen": fen, "none": "check"}
    passed = board.copy(stack=False)
    passed.push(chess.Move.null())
    passed.clear_stack()
    Winning.mates = Mates()
    found = found_after(passed)
    result = {"fen": fen, "moves": {move.uci(): what for move, what in found.items()}}
    if not table:
        return result
    rows = {}
    for reply in list(board.legal_moves):
        board.push(reply)
        rows.setdefault(tuple(left(board, passed, found)), []).append(reply.uci())
        board.pop()
    result["threats"] = Independent(board, passed, found, rows).written()
    result["rows"] = [{"left": row, "replies": replies} for row, replies in rows.items()]
    return result


if __name__ == "__main__":
    table = "--moves" not in sys.argv
    for line in sys.stdin:
        if line.strip():
            begin = time.time()
            print(json.dumps(threats(line.strip(), table)), flush=True)
            if "--times" in sys.argv:
                print(f"{time.time() - begin:.1f} s", file=sys.stderr, flush=True)
