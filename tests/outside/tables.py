"""Compares endgame results with the Syzygy tables of the reference library.

`tables.py COUNT SEED` prints COUNT random positions of three and four men with
what the Syzygy tables (win, draw, loss; data/syzygy/regular in the source
distribution of the PyPI package `chess` 1.11.2) say of them, one a line:

    FEN<tab>win|draw|loss

`tables.py COUNT SEED clock` gives the positions a count of moves for the
fifty-move rule (FIDE Laws 9.3) and says what holds under it, by distance to the
next capture or pawn move (DTZ), which the files may round by a move:

    FEN<tab>win|draw|loss|rule|unsure

where `rule` is a draw by that rule alone.

Every material that the distribution carries comes up equally often, for
either colour and either side to move; of two pawns, some may be taken en
passant.
"""

import pathlib
import random
import sys

import chess
import chess.syzygy

DATA = pathlib.Path(chess.__file__).parent.parent / "data" / "syzygy" / "regular"
NAMES = {-2: "loss", -1: "draw", 0: "draw", 1: "draw", 2: "win"}


def materials():
    return sorted(path.stem for path in DATA.glob("*.rtbw") if len(path.stem) <= 5)


def men(name, flip):
    for side, letters in enumerate(name.split("v")):
        for letter in letters:
            color = (side == 0) != flip
            yield chess.Piece(chess.PIECE_SYMBOLS.index(letter.lower()), color)


def random_position(name, rng):
    while True:
        board = chess.Board(None)
        pieces = list(men(name, rng.random() < 0.5))
        squares = rng.sample(chess.SQUARES, len(pieces))
        board.turn = rng.random() < 0.5
        passing = name == "KPvKP" and rng.random() < 0.5
        if passing:
            row = 4 if board.turn else 3
            file = rng.randrange(7)
            pawns = [index for index, piece in enumerate(pieces) if piece.piece_type == chess.PAWN]
            rng.shuffle(pawns)
            for step, index in enumerate(pawns):
                squares[index] = chess.square(file + step, row)
            if len(set(squares)) < len(squares):
                continue
        for square, piece in zip(squares, pieces):
            board.set_piece_at(square, piece)
        if passing:
            allow_passing(board)
        if board.is_valid():
            return board


def allow_passing(board):
    """Where the other side's pawn may just have moved two squares, says so."""
    step = 8 if board.turn else -8
    for pawn in board.pieces(chess.PAWN, not board.turn):
        behind = (pawn + step, pawn + 2 * step)
        if not any(board.piece_at(square) for square in behind):
            board.ep_square = pawn + step


def under_the_rule(tables, board):
    result = tables.probe_wdl(board)
    if abs(result) == 1:
        return "rule"
    if result == 0:
        return "draw"
    plies = abs(tables.probe_dtz(board)) + board.halfmove_clock
    if plies == 100:
        return "unsure"
    return NAMES[result] if plies < 100 else "rule"


def main():
    count, seed = int(sys.argv[1]), int(sys.argv[2])
    clock = len(sys.argv) > 3
    rng = random.Random(seed)
    names = materials()
    with chess.syzygy.open_tablebase(str(DATA)) as tables:
        for number in range(count):
            board = random_position(names[number % len(names)], rng)
            if clock and board.ep_square is None:
                board.halfmove_clock = rng.choice([0, rng.randrange(100), 60 + rng.randrange(40)])
            answer = under_the_rule(tables, board) if clock else NAMES[tables.probe_wdl(board)]
            print(f"{board.fen(en_passant='legal')}\t{answer}")


main()
