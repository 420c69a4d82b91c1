"""The types of what the functions return: plain dicts, as the command's JSON.

Moves and lines are in UCI unless they are called SAN. A key that is marked with
``NotRequired`` is there only if it was asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Dict, List, Literal, Optional, TypedDict, Union

if TYPE_CHECKING:
    from typing_extensions import NotRequired
else:
    try:
        from typing import NotRequired
    except ImportError:
        # Before Python 3.11; at run time nobody asks.
        NotRequired = Optional

Verdict = Literal["sound", "unsound", "undecided"]

#: What the independent checker says: "nothing" (there is nothing to check), "skipped",
#: {"accepted": {"positions": n}}, {"unreached": why} or {"against": {...}}.
Second = Union[Literal["nothing", "skipped", "waiting"], Dict[str, Any]]


class Place(TypedDict):
    """A place in a text, from 1."""

    line: int
    column: int


class Certificate(TypedDict):
    """A proof that :func:`keyproof.verify` accepts."""

    text: str
    bytes: int
    positions: int


class Finding(TypedDict):
    """What is wrong with a puzzle."""

    kind: str
    weight: Literal["fault", "remark", "open"]
    path: List[str]
    moves: List[str]
    line: List[str]
    message: str
    place: Optional[Place]
    mends: List[str]


class Row(TypedDict):
    """A puzzle that was checked."""

    index: int
    place: NotRequired[str]
    title: str
    stipulation: Optional[str]
    verdict: Verdict
    findings: List[Finding]
    nodes: int
    second: Second
    certificate: NotRequired[Optional[Certificate]]


class Named(TypedDict):
    """A move."""

    uci: str
    san: str


class Reply(Named):
    """The answer to a defence, and the moves in which it forces what is left."""

    length: int


class Branch(TypedDict):
    """A defence, the answer to it (null where none is needed, or found), and what follows."""

    defence: Named
    answer: Optional[Reply]
    tree: List[Branch]


class Why(TypedDict):
    """Why a key works."""

    kind: str
    sentence: str


class Key(Named):
    """A first move that forces what is asked for, in so many moves (half moves, of a
    helpmate)."""

    length: int
    line: List[str]
    by_checks: NotRequired[bool]
    reasons: NotRequired[List[Why]]
    tree: NotRequired[List[Branch]]
    solutions: NotRequired[List[List[str]]]


class Solution(TypedDict):
    """What is known of a position's first moves."""

    fen: str
    stipulation: str
    status: Literal["proved", "refuted", "unknown"]
    keys: List[Key]
    undecided: List[str]
    nodes: int
    second: Second
    certificate: NotRequired[Optional[Certificate]]


class BestLine(TypedDict):
    """A line, with its value in hundredths of a pawn for the side to move, or else the
    moves to a mate (negative for being mated)."""

    value: Optional[int]
    mate: Optional[int]
    grade: Literal["proved", "table", "searched"]
    depth: int
    line: List[str]


class Analysis(TypedDict):
    """What a position is worth, and why; the help of ``keyproof analyse`` says what each
    part of the explanation is."""

    fen: str
    lines: List[BestLine]
    gist: List[Dict[str, Any]]
    failures: List[Dict[str, Any]]
    tries: List[Dict[str, Any]]
    whys: List[Dict[str, Any]]
    standing: str
    before: Dict[str, Any]
    after: Dict[str, Any]
    won: Optional[Dict[str, Any]]
    line: List[str]
    difficulty: Dict[str, Any]
    nodes: int


class EndingMove(TypedDict):
    """A move and what it comes to."""

    uci: str
    san: str
    result: Literal["win", "draw", "loss"]
    mate: Optional[int]
    by_rule: bool


class Ending(TypedDict):
    """What tables know of a position: every move, the best first."""

    fen: str
    result: Literal["win", "draw", "loss"]
    mate: Optional[int]
    by_rule: bool
    moves: List[EndingMove]
    tables: List[str]


class Moment(TypedDict):
    """A position of a game that is worth asking about; the help of ``keyproof moments``
    says what each part is."""

    ply: int
    node: int
    fen: str
    turn: Literal["White", "Black"]
    number: int
    kinds: List[str]
    stipulation: Any
    task: str
    value: Any
    accepted: List[Dict[str, Any]]
    played: Dict[str, Any]
    evidence: Any
    worth: int
    because: List[Any]
    verdict: NotRequired[Verdict]
    puzzle: NotRequired[Any]


class GameRow(TypedDict):
    """What was found in a game."""

    index: int
    title: str
    nodes: int
    moments: List[Moment]
    lesson: NotRequired[Any]
    faults: NotRequired[List[str]]


class SeenPosition(TypedDict):
    """A position that occurred in other games: ``score`` and ``next`` count them by result
    and by what was played, ``earlier`` lists the latest."""

    ply: int
    after: Optional[str]
    fen: str
    score: Dict[str, int]
    next: List[Dict[str, Any]]
    earlier: List[Dict[str, Any]]


class SeenRow(TypedDict):
    """A game with those of its positions that occurred in others."""

    index: int
    title: str
    plies: int
    positions: List[SeenPosition]


class VerifiedClaim(TypedDict):
    """Something that is proved: of "mate" that the move forces it within so many moves, of
    "only" that no other move does, of "draw" that the move holds."""

    fen: str
    kind: Literal["mate", "only", "draw"]
    mate: int
    moves: List[str]


class Verification(TypedDict):
    """What the independent checker says; where it rejects, the line and why."""

    status: Literal["accepted", "rejected"]
    claims: List[VerifiedClaim]
    positions: int
    line: NotRequired[int]
    reason: NotRequired[str]
