"""Reads EPD records on standard input with the PyPI package chess 1.11.2 and
prints each as one line of JSON: FEN, moves of bm, am and pv in UCI, dm, id and
c0. Lines that it cannot read are printed as null."""

import json
import sys

import chess


def record(line):
    board = chess.Board()
    try:
        ops = board.set_epd(line)
    except ValueError:
        return None
    board.halfmove_clock = ops.get("hmvc", 0)
    board.fullmove_number = ops.get("fmvn", 1)

    def moves(name):
        return [move.uci() for move in ops.get(name) or []]

    return {
        "fen": board.fen(en_passant="legal"),
        "bm": sorted(moves("bm")),
        "am": sorted(moves("am")),
        "pv": moves("pv"),
        "dm": ops.get("dm"),
        "id": ops.get("id"),
        "c0": None if ops.get("c0") is None else str(ops["c0"]),
        "opcodes": sorted(ops),
    }


for line in sys.stdin:
    line = line.strip()
    if line and not line.startswith(("#", "%")):
        print(json.dumps(record(line)))
