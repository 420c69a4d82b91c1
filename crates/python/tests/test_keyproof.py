"""The installed package. Outside checks: the rules of PyPI `chess` (1.11.2), which knows
nothing of Keyproof; the types by PyPI `typeguard`; certificates by tests/outside/verify.py,
written apart from Keyproof's own checker. Positions are our own.

Run by `cargo xtask test python`, in an environment of its own with the built wheel.
"""

import io
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
import unittest
import zipfile
from pathlib import Path
from typing import List

import chess
import chess.pgn
from typeguard import TypeCheckError, check_type

import keyproof
from keyproof import data

ROOT = Path(__file__).resolve().parents[3]

CORNERED = "7k/8/5K2/6Q1/8/8/8/8 w - - 0 1"
#: Two mates in two, of which the author lists one.
COOKED = '[Event "Two rooks"]\n[FEN "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1"]\n[Stipulation "#2"]\n\n1. Ra7 Kg8 2. Rb8# *\n'
SOUND = COOKED.replace("1. Ra7", "1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) 1...")
#: White wins a pawn by a mate that threatens.
GAME = '[Event "Short"]\n[White "Quill, Ilsa"]\n[Black "Brill, Tomas"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Nc3 *\n'
#: A search that nobody waits for.
ENDLESS = "r1bq1rk1/pp2bppp/2n1pn2/3p4/2PP4/2N2N2/PP2BPPP/R1BQ1RK1 w - - 0 9"


def forced_mates(board, n):
    """The first moves that mate in n or fewer, found by trying everything with `chess`."""

    def mates(board, n):
        for move in list(board.legal_moves):
            board.push(move)
            held = board.is_checkmate() or (
                n > 1
                and not board.is_game_over()
                and all(answered(board, reply, n - 1) for reply in list(board.legal_moves))
            )
            board.pop()
            if held:
                yield move

    def answered(board, reply, n):
        board.push(reply)
        held = any(True for _ in mates(board, n))
        board.pop()
        return held

    return {move.uci() for move in mates(board, n)}


class Checking(unittest.TestCase):
    def test_a_cook_is_found_and_placed(self):
        (row,) = keyproof.check(COOKED)
        self.assertEqual((row["verdict"], row["title"]), ("unsound", "Two rooks"))
        (cook,) = [f for f in row["findings"] if f["weight"] == "fault"]
        self.assertEqual((cook["kind"], cook["moves"]), ("cook", ["b1b7"]))
        board = chess.Board("7k/8/8/8/8/8/R7/1R2K3 w - - 0 1")
        for move in cook["line"]:
            board.push_uci(move)
        self.assertTrue(board.is_checkmate())
        (row,) = keyproof.check(SOUND)
        self.assertEqual(row["verdict"], "sound", row)
        self.assertIn("accepted", row["second"])

    def test_what_cannot_be_read_is_placed(self):
        (row,) = keyproof.check(COOKED.replace("Kg8", "Kg3"))
        self.assertEqual(row["findings"][0]["place"], {"line": 5, "column": 8})
        with self.assertRaisesRegex(keyproof.InputError, "no game"):
            keyproof.check("")

    def test_many_are_checked_in_their_order_whatever_the_threads(self):
        text = (SOUND + "\n" + COOKED + "\n") * 5
        rows = keyproof.check(text, threads=1)
        self.assertEqual([row["index"] for row in rows], list(range(1, 11)))
        self.assertEqual([row["verdict"] for row in rows], ["sound", "unsound"] * 5)
        self.assertEqual(keyproof.check(text, threads=4), rows)

    def test_a_certificate_is_accepted_by_a_checker_written_apart(self):
        (row,) = keyproof.check(SOUND, certificates=True)
        text = row["certificate"]["text"]
        self.assertEqual(keyproof.verify(text)["status"], "accepted")
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder, "key.txt")
            file.write_text(text)
            judge = [sys.executable, str(ROOT / "tests/outside/verify.py"), str(file)]
            told = subprocess.run(judge, capture_output=True, text=True, check=False)
        self.assertEqual(told.returncode, 0, told.stdout + told.stderr)
        broken = keyproof.verify(text.replace("b1b7", "b1b6"))
        self.assertEqual(broken["status"], "rejected")
        self.assertGreaterEqual(broken["line"], 1)
        (row,) = keyproof.check(SOUND, unchecked=True)
        self.assertEqual((row["second"], "certificate" in row), ("skipped", False))


class Positions(unittest.TestCase):
    def test_keys_are_those_that_brute_force_finds(self):
        for fen in [CORNERED, "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1", "8/5P1k/5K2/8/8/8/8/8 w - - 0 1"]:
            solution = keyproof.solve(fen, "#2")
            keys = {key["uci"] for key in solution["keys"]}
            self.assertEqual(keys, forced_mates(chess.Board(fen), 2), fen)

    def test_a_board_is_as_good_as_its_fen(self):
        board = chess.Board(CORNERED)
        by_board = keyproof.solve(board, "#2", tree=True, reasons=True)
        self.assertEqual(by_board, keyproof.solve(CORNERED, "#2", tree=True, reasons=True))
        for key in by_board["keys"]:
            self.assertEqual(board.san(chess.Move.from_uci(key["uci"])), key["san"])

    def test_a_table_knows_who_wins(self):
        ending = keyproof.table("8/8/3k4/8/4K3/4P3/8/8 w - - 0 1")
        self.assertEqual(ending["result"], "win")
        board = chess.Board(ending["fen"])
        self.assertEqual({m["uci"] for m in ending["moves"]}, {m.uci() for m in board.legal_moves})
        with self.assertRaisesRegex(keyproof.InputError, "32 men"):
            keyproof.table(chess.STARTING_FEN.replace("KQkq", "-"))

    def test_an_analysis_says_what_wins(self):
        fork = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1"
        analysis = keyproof.analyse(fork, lines=2, nodes=100_000)
        self.assertEqual(analysis["lines"][0]["line"][0], "d5f6")
        self.assertIn("fork", [why["title"] for why in analysis["whys"]])

    def test_errors_name_what_is_wrong(self):
        with self.assertRaisesRegex(keyproof.InputError, "no legal position"):
            keyproof.solve("8/8/8/8/8/8/8/8 w - - 0 1", "#2")
        with self.assertRaisesRegex(keyproof.InputError, "#n"):
            keyproof.solve(CORNERED, "mate soon")
        with self.assertRaisesRegex(ValueError, "over"):
            keyproof.analyse("7k/6Q1/5K2/8/8/8/8/8 b - - 0 1")


class Games(unittest.TestCase):
    def test_moments_take_and_give_games(self):
        game = chess.pgn.read_game(io.StringIO(GAME))
        options = {"nodes": 2000, "puzzles": True, "lesson": True}
        (row,) = keyproof.moments(game, as_games=True, **options)
        (moment,) = [m for m in row["moments"] if m["number"] == 4]
        self.assertEqual([a["uci"] for a in moment["accepted"]], ["h5f7"])
        puzzle = moment["puzzle"]
        self.assertIsInstance(puzzle, chess.pgn.Game)
        self.assertTrue(puzzle.board().fen().startswith("r1bqkb1r/pppp1ppp/2n2n2/4p2Q/2B1P3"))
        (checked,) = keyproof.check(puzzle)
        self.assertEqual(checked["verdict"], moment["verdict"])
        self.assertIn("Moments", row["lesson"].headers)
        both = keyproof.moments([game, GAME], **options)
        self.assertEqual([r["index"] for r in both], [1, 2])
        self.assertEqual(both[0]["moments"][0]["fen"], moment["fen"])

    def test_what_of_a_game_cannot_be_read_is_told(self):
        (row,) = keyproof.moments(GAME.replace("Nf6", "Nf5"), nodes=1000)
        self.assertRegex(row["faults"][0], "game 1: \"Nf5\" is no legal move .line 5, column 28")

    def test_publishing(self):
        page = keyproof.publish(chess.pgn.read_game(io.StringIO(SOUND)), title="Monday")
        self.assertRegex(page, "(?i)<!doctype html>")
        self.assertIn("<title>Monday</title>", page)
        self.assertIn("<keyproof-lesson", keyproof.publish(SOUND, element=True))
        package = zipfile.ZipFile(io.BytesIO(keyproof.publish(SOUND, course="scorm", pass_from=60)))
        self.assertIn("imsmanifest.xml", package.namelist())
        with self.assertRaisesRegex(keyproof.Refused, "Two rooks .1. is unsound") as refused:
            keyproof.publish(COOKED)
        self.assertEqual(refused.exception.rows, keyproof.check(COOKED))
        self.assertIn("Two rooks", keyproof.publish(COOKED, unsound=True))


class Types(unittest.TestCase):
    def test_what_is_returned_has_the_types_that_are_told(self):
        fen = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1"
        for value, told in [
            (keyproof.check(SOUND + "\n" + COOKED, certificates=True), List[data.Row]),
            (keyproof.solve(CORNERED, "#2", tree=True, reasons=True, certificate=True), data.Solution),
            (keyproof.analyse(fen, nodes=20_000), data.Analysis),
            (keyproof.table("8/8/8/8/8/2K5/1R6/k7 w - - 0 1"), data.Ending),
            (keyproof.verify("nothing"), data.Verification),
        ]:
            check_type(value, told)
        (row,) = keyproof.check(SOUND)
        with self.assertRaises(TypeCheckError):
            check_type({**row, "verdict": "fine"}, data.Row)


class Manners(unittest.TestCase):
    def test_other_threads_run_meanwhile(self):
        counted = 0
        over = threading.Event()

        def count():
            nonlocal counted
            while not over.is_set():
                counted += 1
                time.sleep(0.001)

        counter = threading.Thread(target=count)
        counter.start()
        before = counted
        keyproof.analyse(ENDLESS, nodes=300_000)
        during = counted - before
        over.set()
        counter.join()
        self.assertGreater(during, 10)

    def test_progress_is_told_and_may_stop_the_work(self):
        told = []
        keyproof.check((SOUND + "\n") * 4, progress=told.append)
        self.assertEqual(told[-1], 4)
        self.assertEqual(told, sorted(told))

        def enough(done):
            raise LookupError(done)

        with self.assertRaises(LookupError):
            keyproof.check((SOUND + "\n") * 4, progress=enough)

    @unittest.skipUnless(hasattr(signal, "SIGINT") and os.name == "posix", "signals of POSIX")
    def test_an_interrupt_stops_the_work(self):
        script = (
            "import keyproof, sys\n"
            "print('begun', flush=True)\n"
            "try:\n"
            f"    keyproof.analyse({ENDLESS!r}, nodes=10**12)\n"
            "except KeyboardInterrupt:\n"
            "    sys.exit(7)\n"
        )
        with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE) as work:
            work.stdout.readline()
            time.sleep(0.3)
            work.send_signal(signal.SIGINT)
            self.assertEqual(work.wait(timeout=120), 7)


if __name__ == "__main__":
    unittest.main()
