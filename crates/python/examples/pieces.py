"""Collections cut into pieces at the borders of games, for the examples that spread work
over machines, and what is done with a piece."""

#: How much text is one piece of work.
BYTES = 64_000


def games(path):
    """The games of a PGN file, each as text. One begins at a tag that follows moves."""
    lines, in_comment, moves = [], False, False
    with open(path, encoding="latin-1", newline="") as file:
        for line in map(decoded, file):
            is_tag = not in_comment and line.startswith("[")
            if is_tag and moves:
                yield "".join(lines)
                lines, moves = [], False
            lines.append(line)
            if is_tag or (not in_comment and line.startswith("%")):
                continue
            moves = moves or bool(line.strip())
            in_comment = ends_in_comment(line, in_comment)
    if any(line.strip() for line in lines):
        yield "".join(lines)


def decoded(line):
    """A line that was read as Latin-1: if it is UTF-8, as such."""
    try:
        return line.encode("latin-1").decode("utf-8-sig")
    except UnicodeDecodeError:
        return line


def ends_in_comment(line, in_comment):
    """Whether a comment in braces, which do not nest, is open at the end of the line."""
    at = 0
    while True:
        if in_comment:
            at = line.find("}", at)
        else:
            opens, rest = line.find("{", at), line.find(";", at)
            at = -1 if 0 <= rest < opens else opens
        if at < 0:
            return in_comment
        at, in_comment = at + 1, not in_comment


def pieces(paths, size):
    """Pieces of at least `size` characters, but for the last of a file: the file, the
    numbers of the first game and of the first line there, and the text."""
    for path in paths:
        first, line, held, length, number = 1, 1, [], 0, 0
        for number, game in enumerate(games(path), 1):
            held.append(game)
            length += len(game)
            if length >= size:
                text = "".join(held)
                yield path, first, line, text
                first, line, held, length = number + 1, line + text.count("\n"), [], 0
        if held:
            yield path, first, line, "".join(held)


def worker():
    """What is done with a piece, as a function of its own: so it travels as a whole, and
    workers need Keyproof, but not this script. It gives a line of JSON for each puzzle or
    game, numbered and placed as in the file; of the task "index" the index of its games."""
    import json

    import keyproof

    def work(task, options, first, begins, text):
        if task == "index":
            return keyproof.index(text)
        rows = getattr(keyproof, task)(text, threads=1, **options)
        for row in rows:
            row["index"] += first - 1
            for finding in row.get("findings", []):
                if finding["place"]:
                    finding["place"]["line"] += begins - 1
        return "".join(json.dumps(row) + "\n" for row in rows).encode()

    return work
