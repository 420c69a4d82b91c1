"""Counts the games of a PGN text as the PyPI package `chess` reads them, one by one:
for each the tags that it has and the half moves of its main line, as JSON."""

import json
import sys

import chess.pgn

sys.stdin.reconfigure(encoding="utf-8")
while (game := chess.pgn.read_game(sys.stdin)) is not None:
    line = list(game.mainline_moves())
    print(json.dumps([game.headers.get("White"), game.headers.get("Date"), [m.uci() for m in line]]))
