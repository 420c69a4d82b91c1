"""The example that has Spark spread work, in local mode with two workers: by the command,
through a pipe, and by the wheel; against a plain run of the wheel."""

import importlib.util
import json
import os
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

import keyproof

ROOT = Path(__file__).resolve().parents[3]
EXAMPLE = ROOT / "crates/python/examples/spark.py"
COMMAND = ROOT / "dist/keyproof"

MISSING = [name for name in ["pyspark", "pandas", "pyarrow"] if importlib.util.find_spec(name) is None]


@unittest.skipIf(MISSING, f"not installed here: {', '.join(MISSING)} (`cargo xtask test spark` installs them)")
class Spark(unittest.TestCase):
    def lines(self, *more):
        """What the example writes of a file of its own."""
        environment = dict(os.environ, SPARK_LOCAL_IP="127.0.0.1", PYSPARK_PYTHON=sys.executable)
        environment["PYSPARK_SUBMIT_ARGS"] = "--master local[2] --conf spark.ui.enabled=false pyspark-shell"
        with tempfile.TemporaryDirectory() as folder:
            file, into = Path(folder, "puzzles.pgn"), Path(folder, "results")
            lesson = (ROOT / "puzzles/thursday-night.pgn").read_text()
            text = "\n".join(lesson.replace('[Event "', f'[Event "{n}. ') for n in range(2))
            file.write_text(text)
            words = [sys.executable, EXAMPLE, "check", file, "--into", into, "--bytes", "4000", *more]
            subprocess.run(words, env=environment, check=True, capture_output=True, timeout=300)
            self.assertTrue(Path(into, "_SUCCESS").exists())
            parts = sorted(into.glob("part-*"))
            self.assertGreater(len(parts), 2)
            rows = [json.loads(line) for part in parts for line in part.read_text().splitlines()]
        self.assertEqual({row.pop("file") for row in rows}, {str(file)})
        return rows, keyproof.check(text)

    def test_pieces_handed_to_the_wheel(self):
        rows, plain = self.lines()
        self.assertTrue(any(row["findings"] for row in plain))
        self.assertEqual(rows, plain)

    def test_pieces_piped_through_the_command(self):
        rows, plain = self.lines("--command", COMMAND)
        # How many positions were looked at depends on the threads that shared the work.
        for row in rows + plain:
            del row["nodes"]
        self.assertEqual(rows, plain)


if __name__ == "__main__":
    unittest.main()
