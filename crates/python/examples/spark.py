"""Checks every puzzle of collections, or finds the moments of every game, on a cluster of
Spark (PyPI `pyspark`), which pipes pieces through the command or hands them to the wheel.

    pip install keyproof pyspark pandas pyarrow
    spark-submit --py-files pieces.py spark.py check puzzles.pgn --into results
    spark-submit --py-files pieces.py spark.py moments 2025.pgn --into results --command keyproof

Collections are cut into pieces at the borders of games, a partition each: a machine that
dies loses its piece, and Spark has another one do it again. `results`, a folder that must
not be there, has a line of JSON for each puzzle or game in the order of the input, with
its file and its number there, and `_SUCCESS` once all is done. With --command, `rdd.pipe`
feeds the command, which each machine must have at that place; else `mapInPandas` calls the
wheel.
"""

import argparse
import json
import shlex

from pieces import BYTES, pieces, worker
from pyspark.sql import SparkSession


def numbered(rows, path, first, begins):
    """Lines of the command, numbered and placed as in the file that the piece is of."""
    for line in rows:
        row = json.loads(line)
        row.update(file=path, index=row["index"] + first - 1)
        for finding in row.get("findings", []):
            if finding["place"]:
                finding["place"]["line"] += begins - 1
        yield json.dumps(row)


def by_command(spark, parts, command, task, options):
    """Lines of JSON from the command, which reads a piece from its standard input."""
    words = [command, task, "-", "--json"]
    for option, value in options.items():
        words += [f"--{option}", str(value)]
    places = [part[:3] for part in parts]
    texts = spark.sparkContext.parallelize([part[3] for part in parts], len(parts))
    # Its exit code tells of what is not sound as well, so that it is no fault.
    rows = texts.pipe(shlex.join(words))
    return rows.mapPartitionsWithIndex(lambda n, lines: numbered(lines, *places[n]))


def by_wheel(spark, parts, task, options):
    """Lines of JSON from the wheel, which gets frames of pieces."""
    work = worker()

    def lines(frames):
        import pandas

        for frame in frames:
            for path, first, begins, text in frame.itertuples(index=False):
                head = json.dumps({"file": path})[:-1]
                rows = work(task, options, first, begins, text).decode().splitlines()
                yield pandas.DataFrame({"line": [f"{head}, {row[1:]}" for row in rows]})

    rows = spark.sparkContext.parallelize(parts, len(parts))
    frame = spark.createDataFrame(rows, "file string, first long, line long, text string")
    return frame.mapInPandas(lines, "line string").rdd.map(lambda row: row.line)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("task", choices=["check", "moments"])
    parser.add_argument("files", nargs="+", metavar="FILE.pgn")
    parser.add_argument("--into", required=True, metavar="DIR")
    parser.add_argument("--command", metavar="PATH", help="the command, to pipe pieces through")
    parser.add_argument("--nodes", type=int, metavar="N")
    parser.add_argument("--bytes", type=int, default=BYTES, metavar="N", help="length of a piece")
    asked = parser.parse_args()
    options = {} if asked.nodes is None else {"nodes": asked.nodes}
    parts = list(pieces(asked.files, asked.bytes))
    spark = SparkSession.builder.appName("keyproof").getOrCreate()
    if asked.command is None:
        lines = by_wheel(spark, parts, asked.task, options)
    else:
        lines = by_command(spark, parts, asked.command, asked.task, options)
    lines.saveAsTextFile(asked.into)
    spark.stop()


if __name__ == "__main__":
    main()
