"""The example that spreads work over machines: a scheduler and two workers, processes of
their own, one of which is killed midway; against a plain run. How pieces are cut is held
against the games that PyPI `chess` (1.11.2) reads."""

import io
import json
import signal
import subprocess
import sys
import tempfile
import time
import unittest
from pathlib import Path

import chess.pgn
import keyproof
from distributed import Client

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "crates/python/examples"))

import pieces  # noqa: E402
import spread  # noqa: E402

#: Comments with braces, brackets and blank lines, games without tags between them or
#: without moves, lines that PGN hides.
AWKWARD = """[Event "One"]
[Site "?"]

1. e4 {A comment with
[Event "none"]

in it} e5 ; and { one to the line's end
2. Nf3 *

% a hidden line
[Event "Two"]

1. d4 {} d5 (1... Nf6 {[%clk 0:10:00]}) 1-0

[Event "Three"]

*
"""


def variants(text, count):
    """The same games under other names, so that no two pieces are the same."""
    return "\n\n".join(text.replace('[Event "', f'[Event "{n}. ') for n in range(count))


def started(*words):
    return subprocess.Popen([sys.executable, "-m", *words], stderr=subprocess.DEVNULL)


class Cutting(unittest.TestCase):
    def test_pieces_begin_where_games_begin(self):
        lessons = [ROOT / "puzzles" / name for name in ["thursday-night.pgn", "other-questions.pgn"]]
        texts = [AWKWARD, *(path.read_text() for path in lessons)]
        with tempfile.TemporaryDirectory() as folder:
            for text in texts:
                for end in ["\n", "\r\n"]:
                    file = Path(folder, "games.pgn")
                    file.write_text(text, newline=end)
                    games = list(pieces.games(file))
                    self.assertEqual("".join(games).replace("\r\n", "\n"), text)
                    told = io.StringIO(text)
                    events = []
                    while (game := chess.pgn.read_game(told)) is not None:
                        events.append(game.headers["Event"])
                    cut = [chess.pgn.read_game(io.StringIO(g)).headers["Event"] for g in games]
                    self.assertEqual(cut, events)
                    for size in [1, 3000, 10**6]:
                        parts = list(pieces.pieces([file], size))
                        firsts = [first for _, first, _, _ in parts]
                        counts = [len(games_of(part)) for _, _, _, part in parts]
                        lines = [part.count("\n") for _, _, _, part in parts]
                        self.assertEqual(sum(counts), len(events))
                        self.assertEqual(firsts, [1 + sum(counts[:i]) for i in range(len(counts))])
                        begins = [line for _, _, line, _ in parts]
                        self.assertEqual(begins, [1 + sum(lines[:i]) for i in range(len(lines))])

    def test_lines_that_are_no_utf_8_are_read_as_the_command_reads_them(self):
        text = "\ufeff[Event \"Café\"]\n\n1. e4 *\n\n".encode() + "[Event \"René\"]\n\n1. d4 *\n".encode("latin-1")
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder, "games.pgn")
            file.write_bytes(text)
            cut = list(pieces.games(file))
        titles = [chess.pgn.read_game(io.StringIO(game)).headers["Event"] for game in cut]
        self.assertEqual(titles, ["Café", "René"])

    def test_games_without_a_blank_line_are_cut_as_keyproof_reads_them(self):
        text = AWKWARD.replace("1-0\n\n", "1-0\n").replace("*\n\n%", "*\n%")
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder, "games.pgn")
            file.write_text(text)
            cut = [keyproof.check(game)[0]["title"] for game in pieces.games(file)]
        self.assertEqual(cut, [row["title"] for row in keyproof.check(text)])
        self.assertEqual(cut, ["One", "Two", "Three"])


def games_of(text):
    told, found = io.StringIO(text.replace("\r\n", "\n")), []
    while (game := chess.pgn.read_game(told)) is not None:
        found.append(game)
    return found


class Cluster(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.told = str(Path(cls.folder.name, "scheduler.json"))
        cls.processes = [
            started("distributed.cli.dask_scheduler", "--port", "0", "--no-dashboard", "--scheduler-file", cls.told)
        ]
        cls.processes += [cls.worker(), cls.worker()]
        cls.client = Client(scheduler_file=cls.told, timeout=120)
        cls.client.wait_for_workers(2, timeout=120)

    @classmethod
    def worker(cls):
        return started(
            "distributed.cli.dask_worker",
            *("--scheduler-file", cls.told, "--nthreads", "1", "--no-nanny", "--no-dashboard"),
            *("--local-directory", cls.folder.name),
        )

    @classmethod
    def tearDownClass(cls):
        cls.client.close()
        for process in cls.processes:
            process.kill()
            process.wait()
        cls.folder.cleanup()

    def test_a_killed_worker_loses_nothing(self):
        text = variants((ROOT / "puzzles/thursday-night.pgn").read_text(), 6)
        file = Path(self.folder.name, "puzzles.pgn")
        file.write_text(text)
        into = Path(self.folder.name, "results")
        victim = self.processes[1]
        killed_at = []

        def tell(done, known):
            if not killed_at:
                victim.send_signal(signal.SIGKILL)
                victim.wait()
                killed_at.append((done, known))

        spread_out = lambda: spread.spread(self.client, "check", [file], into, {}, 3000, tell)
        worked, known = spread_out()
        self.assertEqual(worked, known)
        self.assertLess(killed_at[0][0], known / 2)
        deadline = time.monotonic() + 60
        while len(self.client.scheduler_info()["workers"]) != 1 and time.monotonic() < deadline:
            time.sleep(0.1)
        self.assertEqual(len(self.client.scheduler_info()["workers"]), 1)
        rows = [json.loads(line) for line in Path(into, "all.jsonl").read_text().splitlines()]
        self.assertEqual({row.pop("file") for row in rows}, {str(file)})
        plain = keyproof.check(text)
        self.assertTrue(any(row["findings"] for row in plain))
        self.assertEqual(rows, plain)

        # Once more, nothing is left to do; with one result gone, that alone.
        before = Path(into, "all.jsonl").read_bytes()
        self.assertEqual(spread_out(), (0, known))
        next(Path(into, "pieces").iterdir()).unlink()
        self.assertEqual(spread_out(), (1, known))
        self.assertEqual(Path(into, "all.jsonl").read_bytes(), before)

    def test_the_index_of_all_games_is_made_of_its_parts(self):
        text = variants((ROOT / "puzzles/games/corridor-final.pgn").read_text(), 9)
        twice = text + "\n\n" + text.split("\n\n[Event")[0] + "\n\n"
        file = Path(self.folder.name, "collection.pgn")
        file.write_text(twice)
        into = Path(self.folder.name, "index")
        worked, known = spread.spread(self.client, "index", [file], into, {}, 1)
        self.assertEqual((worked, known), (10, 10))
        index = Path(into, "all.index").read_bytes()
        self.assertEqual(index, keyproof.index(text))
        [row] = keyproof.seen(text.split("\n\n[Event")[0] + "\n\n", index, most=3)
        self.assertEqual([at["ply"] for at in row["positions"]], list(range(row["plies"] + 1)))
        self.assertEqual({at["score"]["games"] for at in row["positions"]}, {8})
        self.assertEqual({len(at["earlier"]) for at in row["positions"]}, {3})
        with self.assertRaisesRegex(keyproof.InputError, "index 2 is damaged"):
            keyproof.join_indexes([index, index[:-1]])

    def test_moments_of_every_game(self):
        games = [ROOT / "puzzles/games" / name for name in ["corridor-final.pgn", "the-queen-that-waited.pgn"]]
        into = Path(self.folder.name, "moments")
        options = {"nodes": 1000, "top": 2}
        spread.spread(self.client, "moments", games, into, options, 1)
        rows = [json.loads(line) for line in Path(into, "all.jsonl").read_text().splitlines()]
        self.assertEqual([row.pop("file") for row in rows], [str(game) for game in games])
        self.assertEqual(rows, [keyproof.moments(game.read_text(), **options)[0] for game in games])


if __name__ == "__main__":
    unittest.main()
