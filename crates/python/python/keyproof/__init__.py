"""Keyproof: proves chess puzzles, finds the moments of games, publishes lessons.

Each function does what the command's task of the same name does, and returns what that
prints as JSON, as plain dicts and lists; :mod:`keyproof.data` has their types.

Positions are given as FEN or as a ``chess.Board``; puzzles and games as PGN, as a
``chess.pgn.Game``, or as several of either. (``chess`` is a package of its own on PyPI,
which Keyproof does not need.)

The interpreter's lock is released while a function works. Ctrl-C stops it within a
moment. ``threads`` says how many threads may work (all cores if left out); ``progress``
is called with the number of things done so far, and what it raises stops the work.

Raised are :class:`InputError` where something cannot be read, with a sentence that names
the place, and :class:`Refused` by :func:`publish`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Callable, Iterable, List, Literal, Optional, Union, overload

from . import _core
from ._core import InputError, Refused, __version__
from .data import Analysis, Ending, GameRow, Row, SeenRow, Solution, Verification

if TYPE_CHECKING:
    import chess
    import chess.pgn

    Position = Union[str, chess.Board]
    Games = Union[str, chess.pgn.Game, Iterable[Union[str, chess.pgn.Game]]]

__all__ = [
    "InputError",
    "Refused",
    "__version__",
    "analyse",
    "check",
    "index",
    "join_indexes",
    "moments",
    "publish",
    "seen",
    "solve",
    "table",
    "verify",
]

Progress = Callable[[int], Any]


def check(
    puzzles: Games,
    *,
    nodes: Optional[int] = None,
    unchecked: bool = False,
    certificates: bool = False,
    threads: Optional[int] = None,
    progress: Optional[Progress] = None,
) -> List[Row]:
    """Check every claim of every puzzle; one row for each, in their order.

    A lesson is as many puzzles as it asks at moments. ``nodes`` bounds what one question
    may cost, and what that does not settle is undecided. ``unchecked`` puts nothing to the
    independent checker. With ``certificates`` a row has the proof of its first moves.
    """
    return _core.check(_way(threads, progress), _pgn(puzzles), nodes, unchecked, certificates)


def solve(
    position: Position,
    stipulation: str,
    *,
    tree: bool = False,
    reasons: bool = False,
    nodes: Optional[int] = None,
    unchecked: bool = False,
    certificate: bool = False,
    threads: Optional[int] = None,
    progress: Optional[Progress] = None,
) -> Solution:
    """Find every first move that forces what is asked for.

    The stipulation is ``#n``, ``s#n``, ``==n``, ``h#n``, ``h#n.5`` or ``gain k in n``.
    ``tree`` adds an answer to every defence, ``reasons`` why each key works, and
    ``certificate`` the proof (of mates and gains alone).
    """
    options = {
        "tree": tree,
        "reasons": reasons,
        "nodes": nodes,
        "unchecked": unchecked,
        "certificate": certificate,
    }
    return _core.solve(_way(threads, progress), _fen(position), stipulation, options)


def analyse(
    position: Position,
    *,
    lines: int = 1,
    nodes: int = 2_000_000,
    progress: Optional[Progress] = None,
) -> Analysis:
    """Say what a position is worth, and why.

    ``lines`` is how many of the best lines to show, ``nodes`` how many positions the
    search may look at. It works on one thread.
    """
    return _core.analyse(_way(1, progress), _fen(position), lines, nodes)


def table(position: Position, *, progress: Optional[Progress] = None) -> Ending:
    """Look an ending of up to four men up; its table is made if no call made it before."""
    return _core.table(_way(1, progress), _fen(position))


def moments(
    games: Games,
    *,
    top: Optional[int] = None,
    nodes: Optional[int] = None,
    puzzles: bool = False,
    lesson: bool = False,
    unchecked: bool = False,
    as_games: bool = False,
    threads: Optional[int] = None,
    progress: Optional[Progress] = None,
) -> List[GameRow]:
    """Find what in each game is worth asking about; the best moments first.

    ``top`` is how many of a game at most, ``nodes`` what is spent on a position that looks
    promising. With ``puzzles`` each moment has the puzzle made of it, with ``lesson`` each
    game the lesson that asks at its sound ones: in PGN, or with ``as_games`` as a
    ``chess.pgn.Game``.
    """
    options = {
        "top": top,
        "nodes": nodes,
        "puzzles": puzzles,
        "lesson": lesson,
        "unchecked": unchecked,
    }
    rows = _core.moments(_way(threads, progress), _pgn(games), options)
    if as_games:
        for row in rows:
            _replace(row, "lesson")
            for moment in row["moments"]:
                _replace(moment, "puzzle")
    return rows


@overload
def publish(
    puzzles: Games,
    *,
    course: Literal["scorm", "cmi5"],
    title: Optional[str] = None,
    certificates: bool = False,
    element: Literal[False] = False,
    pass_from: Optional[int] = None,
    unsound: bool = False,
    unchecked: bool = False,
    nodes: Optional[int] = None,
    threads: Optional[int] = None,
    progress: Optional[Progress] = None,
) -> bytes: ...


@overload
def publish(
    puzzles: Games,
    *,
    course: None = None,
    title: Optional[str] = None,
    certificates: bool = False,
    element: bool = False,
    pass_from: None = None,
    unsound: bool = False,
    unchecked: bool = False,
    nodes: Optional[int] = None,
    threads: Optional[int] = None,
    progress: Optional[Progress] = None,
) -> str: ...


def publish(
    puzzles: Games,
    *,
    title: Optional[str] = None,
    certificates: bool = False,
    element: bool = False,
    course: Optional[str] = None,
    pass_from: Optional[int] = None,
    unsound: bool = False,
    unchecked: bool = False,
    nodes: Optional[int] = None,
    threads: Optional[int] = None,
    progress: Optional[Progress] = None,
) -> Union[str, bytes]:
    """Make the student's file: one page that judges every move, without network.

    ``element`` makes the element ``<keyproof-lesson>`` for a page that loads
    keyproof-lesson.js; ``course`` a package for a course ("scorm" or "cmi5"), the bytes of
    a zip file, in which ``pass_from`` is the score in per cent from which it is passed.

    Puzzles that are not proved sound are refused (:class:`Refused`, whose ``rows`` are
    those of :func:`check`), unless ``unsound`` is given.
    """
    if pass_from is not None and course is None:
        raise ValueError("pass_from is the score of a course")
    options = {
        "title": title,
        "certificates": certificates,
        "element": element,
        "course": course,
        "pass_from": pass_from,
        "unsound": unsound,
        "unchecked": unchecked,
        "nodes": nodes,
    }
    return _core.publish(_way(threads, progress), _pgn(puzzles), options)


def index(games: Games, *, progress: Optional[Progress] = None) -> bytes:
    """Index the positions of all games, so that :func:`seen` finds them: 14 bytes each, and
    what the names of the games take. A game that comes twice is taken once."""
    return _core.index(_way(1, progress), _pgn(games))


def join_indexes(parts: Iterable[bytes], *, progress: Optional[Progress] = None) -> bytes:
    """Make one index of several: what :func:`index` makes of their games, in this order."""
    return _core.join_indexes(_way(1, progress), list(parts))


def seen(
    games: Games, index: bytes, *, most: int = 5, progress: Optional[Progress] = None
) -> List[SeenRow]:
    """Say of each game which of its positions occurred in the games of an index.

    Of each position the ``most`` latest of them are named. A game does not count itself.
    """
    return _core.seen(_way(1, progress), _pgn(games), index, most)


def verify(text: str) -> Verification:
    """Put a text of certificates to the independent checker, or a page that carries some."""
    return _core.verify(_way(1, None), text)


def _way(threads: Optional[int], progress: Optional[Progress]) -> dict:
    if threads is not None and threads < 1:
        raise ValueError("threads is 1 or more")
    return {"threads": threads, "progress": progress}


def _fen(position: Position) -> str:
    return position if isinstance(position, str) else position.fen()


def _pgn(games: Games) -> str:
    """Games as one text. A ``chess.pgn.Game`` writes itself as PGN, and so can be told
    apart from several games without importing ``chess``: it has headers."""
    if isinstance(games, str):
        return games
    if hasattr(games, "headers"):
        return str(games) + "\n\n"
    return "\n\n".join(_pgn(game) for game in games)


def _replace(row: dict, name: str) -> None:
    """Puts games in the place of their PGN."""
    if name not in row:
        return
    import io

    import chess.pgn

    row[name] = chess.pgn.read_game(io.StringIO(row[name]))
